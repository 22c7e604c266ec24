// A tablet at the scale that volunteers share: after some idle minutes it goes back to the names by itself, and the names can be
// tapped when the network is away. They stay on the device until the tablet ends; the pages work without this file.
(() => {
  "use strict";

  const NAMES = "/cloth/weigh-in/names";
  const KEPT = "names at the scale";
  const WAITING = "weigh-ins that wait";
  const IDLE = 4 * 60 * 1000;

  const read = (place) => {
    try {
      return JSON.parse(localStorage.getItem(place));
    } catch {
      return null;
    }
  };
  const names = () => {
    const kept = read(KEPT);
    if (kept && kept.until > Date.now()) return kept.names;
    localStorage.removeItem(KEPT);
    return [];
  };
  const form = document.querySelector("[data-weigh-in][data-tablet]");
  const page = document.querySelector("[data-names-page]");

  async function reached() {
    try {
      return (await fetch("/healthz", { cache: "no-store", signal: AbortSignal.timeout(4000) })).ok;
    } catch {
      return false;
    }
  }

  if (page) {
    // Opened just now: a page that this device kept for somebody who was signed in on it would be taken for this one.
    if (new URLSearchParams(location.search).get("said") === "tablet-opened") window.caches?.delete("weigh-in");
    const left = Number(page.dataset.left) * 1000;
    const links = [...page.querySelectorAll("[data-by]")];
    const kept = links.map(({ dataset }) => ({ by: dataset.by, who: dataset.who, name: dataset.name }));
    localStorage.setItem(KEPT, JSON.stringify({ until: Date.now() + left, names: kept }));
    const waiting = (read(WAITING) || []).length;
    const words = page.querySelector("[data-names-wait]");
    words.hidden = waiting === 0;
    words.textContent = `${waiting === 1 ? "1 weigh-in waits" : `${waiting} weigh-ins wait`} on this device, and will be sent when a name is tapped and the network is there.`;
    page.querySelector("[data-end-tablet]").addEventListener("submit", () => localStorage.removeItem(KEPT));
    // A page of yesterday isn't left standing: asked again now and then, it has new names, or leads to the sign-in page.
    setInterval(async () => (await reached()) && location.reload(), Math.min(IDLE, Math.max(left, 1000)));
    return;
  }
  if (!form) return;

  const standing = document.querySelector("[data-standing]");
  const picker = document.querySelector("[data-names-offline]");

  // From now on the form is this person's.
  function stand({ by, who, name }) {
    Object.assign(form.dataset, { by, who, name });
    form.action = `/cloth/weigh-in?by=${encodeURIComponent(by)}`;
    standing.querySelector("[data-standing-name]").textContent = name;
    form.hidden = false;
    standing.hidden = false;
    picker.hidden = true;
  }

  // The names, as the device has them: there is no network to ask.
  function pick() {
    const list = picker.querySelector("ul");
    list.replaceChildren(
      ...names().map((one) => {
        const button = Object.assign(document.createElement("button"), { type: "button", className: "button big wide", textContent: one.name });
        button.addEventListener("click", () => {
          form.reset();
          stand(one);
          document.dispatchEvent(new Event("stands"));
        });
        const item = document.createElement("li");
        item.append(button);
        return item;
      }),
    );
    if (names().length === 0) picker.querySelector("p").textContent = "The network is away, and this device has no names any more. An instructor opens it again when the network is back.";
    form.hidden = true;
    standing.hidden = true;
    picker.hidden = false;
    for (const section of document.querySelectorAll("[data-online]")) section.remove();
    picker.querySelector("h1").focus();
  }

  async function away() {
    if (await reached()) location.assign(NAMES);
    else pick();
  }

  window.atScale = { stand, pick };
  standing.querySelector("[data-somebody-else]").addEventListener("click", (event) => {
    event.preventDefault();
    away();
  });

  let touched = Date.now();
  for (const kind of ["pointerdown", "keydown", "input"]) document.addEventListener(kind, () => (touched = Date.now()), { passive: true });
  // Asked of the clock and not counted: a tablet that slept wakes up idle.
  setInterval(() => {
    if (Date.now() - touched < IDLE) return;
    touched = Date.now();
    if (picker.hidden) away();
  }, 5000);

  if (!form.dataset.by) pick();
})();
