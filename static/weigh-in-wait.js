// When the network drops at the scale, weigh-ins wait on this device and are sent once it is back. Each carries the key
// of its form, so one that had arrived after all adds nothing. Without this file the browser says that it is offline.
(() => {
  "use strict";

  const form = document.querySelector("[data-weigh-in]");
  const box = document.querySelector("[data-wait]");
  if (!form || !box) return;
  const words = box.querySelector("[data-wait-words]");
  const list = box.querySelector("[data-wait-list]");
  const place = "weigh-ins that wait";
  const read = () => {
    try {
      return JSON.parse(localStorage.getItem(place)) || [];
    } catch {
      return [];
    }
  };
  const write = (waiting) => localStorage.setItem(place, JSON.stringify(waiting));

  // Version 4 of RFC 9562, by hand: crypto.randomUUID is there over TLS only.
  function freshKey() {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    bytes[6] = (bytes[6] & 0x0f) | 0x40;
    bytes[8] = (bytes[8] & 0x3f) | 0x80;
    const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
  }

  async function reached() {
    try {
      return (await fetch("/healthz", { cache: "no-store", signal: AbortSignal.timeout(4000) })).ok;
    } catch {
      return false;
    }
  }

  const named = (body) => {
    const fields = new URLSearchParams(body);
    const colour = fields.get("colour");
    const own = fields.get("own_name") || fields.get("own_hex");
    return `${colour === "own" ? own : colour}, ${fields.get("weight")}`;
  };

  function line(text, href) {
    const item = document.createElement("li");
    const part = document.createElement(href ? "a" : "span");
    part.textContent = text;
    if (href) part.href = href;
    item.append(part);
    list.append(item);
  }

  const title = box.querySelector("h2");
  const waits = title.textContent;
  function show(text, heading = waits) {
    box.hidden = false;
    title.textContent = heading;
    words.textContent = text;
    list.replaceChildren();
    for (const body of read()) line(named(body));
  }

  function keep() {
    const missing = ["kind", "colour", "weight", "washed"].filter((name) => !form.elements[name].value.trim());
    if (missing.length > 0) {
      show(`The network is away, and this one still lacks: ${missing.join(", ")}.`);
      return;
    }
    write([...read(), new URLSearchParams(new FormData(form)).toString()]);
    form.elements.key.value = freshKey();
    for (const name of ["weight", "note", "sheets", "sheet_length", "sheet_width"]) form.elements[name].value = "";
    show("The network is away. These wait on this device and are sent when it is back. Put their colour and weight on the tape; the number comes then.");
    form.elements.weight.focus();
  }

  // One after the other, and each taken off the list only when the workroom has answered for it.
  async function send() {
    const sent = [];
    while (read().length > 0) {
      const [body] = read();
      const answer = await fetch(form.action, { method: "POST", body: new URLSearchParams(body) });
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const number = page.querySelector(".tag-number b");
      if (answer.ok && number) sent.push([`${number.textContent}: ${named(body)}`, answer.url]);
      else if (answer.status === 422) sent.push([`Not taken: ${named(body)}. ${page.querySelector(".error-summary li").textContent}`]);
      else throw new Error(`answered ${answer.status}`);
      // Another window may have added to the list meanwhile: only this one is taken off.
      write(read().filter((waiting) => waiting !== body));
    }
    show("All is sent. Write these numbers on the tapes:", "Sent from this device");
    for (const [text, href] of sent) line(text, href);
  }

  // One thing at a time, in the order asked for: a press while something is being sent waits for its turn.
  let last = Promise.resolve();
  const inTurn = (job) => (last = last.then(job, job));

  async function sendNow() {
    if (read().length === 0) return;
    try {
      if (await reached()) await send();
      else show("The network is away. These wait on this device:");
    } catch {
      show("The workroom doesn’t take them yet. These wait on this device; sign in again if you are signed out.");
    }
  }
  const trySending = () => inTurn(sendNow);

  let pressed = false;
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    // A second press on the same form asks for nothing more.
    if (pressed) return;
    pressed = true;
    inTurn(async () => {
      const there = await reached();
      // Weighed cloth keeps its order: what waits goes first.
      if (there) await sendNow();
      pressed = false;
      if (there) form.submit();
      else keep();
    });
  });
  window.addEventListener("online", trySending);
  setInterval(trySending, 20000);
  trySending();
})();
