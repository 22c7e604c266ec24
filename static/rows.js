// The row counter without waiting for the network: a press shows at once, waits on this device while the workroom can't be
// reached, and is sent once. Each says how many rows more, so that two devices add up; a figure that somebody wrote down
// meanwhile stands, and what was counted before it is asked about. Without this file each press is a form.
(() => {
  "use strict";

  const box = document.querySelector("[data-counter]");
  if (!box) return;
  const find = (part) => box.querySelector(part);
  const [count, words, state] = ["[data-count]", "[data-next]", "[data-count-state]"].map(find);
  const stretches = [...box.querySelectorAll("[data-to]")].map((item) => ({
    item,
    after: Number(item.dataset.after),
    to: Number(item.dataset.to),
    until: Number(item.dataset.until),
    name: item.dataset.name,
    turned: item.dataset.turned !== undefined,
  }));
  const { counter: rug, who } = box.dataset;
  const path = `/rugs/${rug}`;
  const place = "rows that wait";
  const mine = `${rug} ${who}`;
  const told = () => ({ rows: Number(box.dataset.rows), from: box.dataset.from });

  // By rug and person: what the workroom said last, and the presses that wait.
  function all() {
    try {
      return JSON.parse(localStorage.getItem(place)) || {};
    } catch {
      return {};
    }
  }
  const read = () => all()[mine] || { ...told(), waiting: [] };
  const write = (kept) => localStorage.setItem(place, JSON.stringify({ ...all(), [mine]: kept }));
  const sum = (kept) => kept.waiting.reduce((rows, one) => Math.max(one.to ?? rows + one.more, 0), kept.rows);

  function next(rows) {
    const at = stretches.findIndex((one) => rows < one.to);
    if (at < 0) return "All the planned rows are woven.";
    const [now, then] = [stretches[at], stretches[at + 1]];
    const left = now.to - rows;
    if (rows === now.after) return `${now.turned ? "Turn the frame. " : ""}${left === 1 ? "1 row" : `${left} rows`} of ${now.name} now`;
    if (!then) return `${left} more, then it is woven`;
    return `${left} more, then ${then.turned ? "turn the frame: " : ""}${then.name}`;
  }

  // The line in the picture, of a rug that is woven from one end; of another the page draws it when it is opened again.
  function draw(rows) {
    const here = document.querySelector("[data-here]");
    if (!here || stretches.some((one) => one.turned)) return;
    const at = stretches.findIndex((one) => rows < one.to);
    const high = here.ownerSVGElement.viewBox.baseVal.height;
    const start = at > 0 ? stretches[at - 1].until : 0;
    const now = stretches[at];
    const woven = now ? start + ((now.until - start) * (rows - now.after)) / (now.to - now.after) : high;
    here.setAttribute("transform", `translate(0 ${high - woven})`);
    here.querySelector("text").textContent = `row ${rows}`;
    document.querySelector("[data-to-come]").setAttribute("height", Math.max(high - woven, 0));
  }

  function show(text) {
    const kept = read();
    const rows = sum(kept);
    count.textContent = rows;
    words.textContent = next(rows);
    const under = stretches.find((one) => rows < one.to);
    box.classList.toggle("soon", under !== undefined && rows > under.after && under.to - rows <= 2);
    for (const one of stretches) {
      one.item.classList.toggle("done", rows >= one.to);
      if (one === under) one.item.setAttribute("aria-current", "step");
      else one.item.removeAttribute("aria-current");
    }
    for (const field of box.querySelectorAll("[name=from]")) field.value = kept.from;
    draw(rows);
    if (text !== undefined) state.textContent = text;
  }

  function offer(label, act) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "button small secondary";
    button.textContent = label;
    button.addEventListener("click", act);
    state.append(" ", button);
  }

  // Presses that wait become one, unless what they would join is on its way already.
  function add(press) {
    const kept = read();
    const last = kept.waiting.at(-1);
    if (press.more && last?.more && !last.sent) last.more += press.more;
    else kept.waiting.push({ key: window.freshKey(), from: kept.waiting.some((one) => one.to !== undefined) ? null : kept.from, ...press });
    kept.waiting = kept.waiting.filter((one) => one.sent || one.more !== 0);
    write(kept);
    show("");
    trySending();
  }

  async function sendOne(one) {
    let kept = read();
    for (const waits of kept.waiting) if (waits.key === one.key) waits.sent = true;
    write(kept);
    const fields = { key: one.key, ...(one.to === undefined ? { more: one.more, from: one.from ?? kept.from } : { to: one.to }) };
    const answer = await fetch(`${path}/rows`, {
      method: "POST",
      headers: { accept: "application/json" },
      body: new URLSearchParams(fields),
      signal: AbortSignal.timeout(10000),
    });
    if (!(answer.ok || answer.status === 409) || !answer.headers.get("content-type")?.includes("json")) throw new Error("refused");
    const { rows, from, words } = await answer.json();
    kept = read();
    kept.waiting = kept.waiting.filter((waits) => waits.key !== one.key);
    let left = 0;
    if (answer.status === 409) {
      // What was counted since from the same figure is in doubt as well.
      left = [one, ...kept.waiting.filter((waits) => waits.more)].reduce((rows, waits) => rows + (waits.more ?? 0), 0);
      kept.waiting = kept.waiting.filter((waits) => waits.more === undefined);
    }
    write({ ...kept, rows, from });
    show(answer.status === 409 ? `${words} ` : undefined);
    if (left === 0) return;
    state.append(`Counted here before that, and left out: ${left}.`);
    offer("Add them", () => add({ more: left }));
  }

  let last = Promise.resolve();
  function trySending() {
    last = last.then(async () => {
      try {
        for (let [one] = read().waiting; one; [one] = read().waiting) await sendOne(one);
      } catch (error) {
        const rows = sum(read()) - read().rows;
        const wait = `${Math.abs(rows)} ${Math.abs(rows) === 1 ? "row waits" : "rows wait"} on this device`;
        show(error.message === "refused" ? `${wait}: the workroom doesn’t take them yet. Open your link again if you are signed out.` : `The network is away: ${wait}, and are sent when it is back.`.replace("waits on this device, and are", "waits on this device, and is"));
      }
    });
    return last;
  }

  // What another device counted meanwhile, when somebody looks here again.
  async function refresh() {
    await trySending();
    if (read().waiting.length > 0) return;
    try {
      const answer = await fetch(`${path}/count`, { cache: "no-store", signal: AbortSignal.timeout(6000) });
      const there = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector("[data-counter]");
      if (!answer.ok || !there || read().waiting.length > 0) return;
      write({ rows: Number(there.dataset.rows), from: there.dataset.from, waiting: [] });
      show();
    } catch {
      // It is asked again the next time.
    }
  }

  box.addEventListener("submit", (event) => {
    const { name, value } = event.submitter ?? {};
    if (name !== "more" && name !== "to") return;
    event.preventDefault();
    if (name === "more") {
      const more = Number(value);
      if (sum(read()) + more >= 0) add({ more });
      return;
    }
    const before = sum(read());
    add({ to: Number(value) });
    state.textContent = `Counted to row ${value}. `;
    offer("Undo", () => add({ to: before }));
  });

  // The page that the device kept knows an old count: what was heard since is newer.
  if (box.dataset.offline === undefined || !all()[mine]) write({ ...read(), ...told() });
  if (box.dataset.mine !== undefined) {
    navigator.serviceWorker
      ?.register("/static/rows-offline.js", { scope: path })
      .then((registered) => registered.active?.postMessage("keep"))
      .catch((error) => console.info("offline:", error.message));
  }
  window.addEventListener("online", trySending);
  window.addEventListener("pageshow", (event) => event.persisted && refresh());
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && refresh());
  setInterval(() => read().waiting.length > 0 && trySending(), 15000);
  show();
  if (box.dataset.offline === undefined) trySending();
  else refresh();
})();
