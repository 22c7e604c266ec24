// Tells how hard a new passphrase is to guess while it is typed. The program judges it, as it does when the form is sent;
// without this script the same is said then.
(() => {
  "use strict";

  const PAUSE = 350;

  function watch(input) {
    const told = document.createElement("p");
    told.className = "hint";
    told.setAttribute("role", "status");
    input.after(told);
    let waiting;
    let asked = 0;

    async function ask() {
      const mine = ++asked;
      const fields = new URLSearchParams();
      for (const name of ["passphrase", "name", "workroom"]) {
        const field = input.form.elements.namedItem(name);
        if (field) fields.set(name, field.value);
      }
      try {
        const answer = await fetch(input.dataset.strength, { method: "POST", body: fields });
        const text = answer.ok ? await answer.text() : "";
        if (mine === asked) told.textContent = text;
      } catch {
        // Nobody is told anything while the program can't be reached; sending the form says so.
      }
    }

    input.addEventListener("input", () => {
      clearTimeout(waiting);
      if (input.value) {
        waiting = setTimeout(ask, PAUSE);
      } else {
        asked++;
        told.textContent = "";
      }
    });
  }

  document.querySelectorAll("input[data-strength]").forEach(watch);
})();
