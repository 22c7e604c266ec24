// The planner: after a change the form is sent as "See what it needs" would send it, and the answer's preview takes the
// place of the one shown. Without this script the button does the same.
(() => {
  const form = document.querySelector("form[data-planner]");
  if (!form) return;
  let timer;
  let asking;
  const look = async () => {
    asking?.abort();
    asking = new AbortController();
    const body = new URLSearchParams(new FormData(form));
    body.set("look", "yes");
    try {
      const answer = await fetch(form.action, { method: "POST", body, signal: asking.signal });
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const fresh = page.getElementById("preview");
      if (fresh) document.getElementById("preview").replaceWith(document.adoptNode(fresh));
    } catch (error) {
      // A dropped connection leaves the last preview; the next change asks again.
      if (error.name !== "AbortError") console.info("preview:", error.message);
    }
  };
  const soon = () => {
    clearTimeout(timer);
    timer = setTimeout(look, 250);
  };
  form.addEventListener("input", soon);
  form.addEventListener("change", soon);
})();
