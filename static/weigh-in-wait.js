// When the network drops at the scale, weigh-ins wait on this device and are sent once it is back, also after the browser was
// closed. Each carries the key of its form, so one that had arrived after all adds nothing. What the workroom refuses stays,
// with its reason, until somebody corrects it or throws it away. Without this file the browser says that it is offline.
(() => {
  "use strict";

  const form = document.querySelector("[data-weigh-in]");
  const box = document.querySelector("[data-wait]");
  if (!form || !box) return;
  const [title, words, list] = ["h2", "[data-wait-words]", "[data-wait-list]"].map((part) => box.querySelector(part));
  const state = form.querySelector("[data-wait-state]");
  const place = "weigh-ins that wait";
  // A tablet that volunteers share knows who stands before it; what waits is sent from it for each of them.
  const me = () => form.dataset.who;
  const shared = form.dataset.tablet !== undefined;
  let sent = [];

  // Each is a form's fields, whose it is, and, once the workroom refused it, why.
  function read() {
    try {
      const kept = JSON.parse(localStorage.getItem(place)) || [];
      return kept.map((one) => (typeof one === "string" ? { body: one, who: me() } : one));
    } catch {
      return [];
    }
  }
  const write = (waiting) => localStorage.setItem(place, JSON.stringify(waiting));
  const mine = () => read().filter((one) => one.who === me() || (shared && one.by));
  const waiting = () => mine().filter((one) => !one.refused);
  const refused = () => mine().filter((one) => one.refused);
  // Another window may have added to the list meanwhile: only this one is touched.
  const drop = (body) => write(read().filter((one) => one.body !== body));

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
    const weight = window.weighInBoxes(fields.get("weight") ?? "", fields.get("weight_oz") ?? "", form.dataset.units === "metric");
    return `${colour === "own" ? own : colour}, ${weight}`;
  };
  // On a shared tablet it is said whose it is.
  const told = (one) => (shared && one.name && one.who !== me() ? `${named(one.body)} (${one.name})` : named(one.body));

  function line(text, href) {
    const item = document.createElement("li");
    const part = document.createElement(href ? "a" : "span");
    part.textContent = text;
    if (href) part.href = href;
    item.append(part);
    list.append(item);
    return item;
  }

  function button(label, act) {
    const made = document.createElement("button");
    made.type = "button";
    made.className = "button small secondary";
    made.textContent = label;
    made.addEventListener("click", act);
    return made;
  }

  // A refused one back into the form, to be corrected and weighed in again.
  function correct({ body, ...whose }) {
    if (shared && whose.by && whose.who !== me()) window.atScale.stand(whose);
    for (const [name, value] of new URLSearchParams(body)) {
      const field = form.elements[name];
      if (field && name !== "key") field.value = value;
    }
    drop(body);
    for (const part of form.querySelectorAll("details")) part.open ||= [...part.querySelectorAll("input[type=text]")].some((field) => field.value);
    show();
    mark(window.weighInCheck(form));
    form.elements.weight.focus();
  }

  // What stands beside the button and in the box: always of what is there now.
  function show(text = "") {
    const [waits, bad] = [waiting().length, refused()];
    const others = read().length - mine().length;
    const beside = [];
    if (bad.length > 0) beside.push(`Refused: ${bad[0].refused}`);
    if (waits > 0) beside.push(waits === 1 ? "1 waits" : `${waits} wait`);
    state.textContent = beside.join(" · ");
    box.hidden = waits + bad.length + others + sent.length === 0 && text === "";
    list.replaceChildren();
    for (const one of bad) {
      const throwAway = () => {
        drop(one.body);
        show();
      };
      const item = line(`Refused: ${told(one)}. ${one.refused} `);
      item.append(button("Correct it", () => correct(one)), " ", button("Throw it away", throwAway));
    }
    for (const one of waiting()) line(told(one));
    for (const [words, href] of sent) line(words, shared ? "" : href);
    if (others > 0) line(`${others === 1 ? "1 more waits" : `${others} more wait`} from somebody else, until they sign in on this device.`);
    const done = sent.length > 0 && waits + bad.length === 0;
    title.textContent = bad.length > 0 ? "Not weighed in" : done ? "Sent from this device" : "Waiting on this device";
    words.textContent = text || (bad.length > 0 ? "The workroom refused what stands first here; it isn’t weighed in."
      : done ? "All is sent. Write these numbers on the tapes:"
      : sent.length > 0 ? "Sent so far, with the numbers for the tapes, and what still waits:" : "These are sent when the network is back.");
  }

  // Messages at their fields, as the workroom's own pages have them.
  function mark(errors) {
    for (const old of form.querySelectorAll("[data-wait-error]")) {
      const field = old.closest(".field");
      field.classList.remove("wrong");
      const tied = field.querySelector("[data-wait-tied]") ?? field;
      tied.removeAttribute("aria-invalid");
      tied.setAttribute("aria-describedby", tied.dataset.waitTied ?? "");
      delete tied.dataset.waitTied;
      old.remove();
    }
    for (const [name, message] of errors) {
      const found = form.elements[name];
      const [control, group] = found instanceof RadioNodeList ? [found[0], true] : [found, false];
      const field = control.closest(".field");
      const error = document.createElement("p");
      Object.assign(error, { className: "error", id: `${name}-error`, textContent: message });
      error.dataset.waitError = "";
      document.getElementById(error.id)?.remove();
      field.classList.add("wrong");
      (group ? field.querySelector(".choices") : control.closest(".boxes, .with-unit") ?? control).before(error);
      const tied = group ? field : control;
      tied.dataset.waitTied = tied.getAttribute("aria-describedby") ?? "";
      tied.setAttribute("aria-invalid", "true");
      tied.setAttribute("aria-describedby", `${tied.dataset.waitTied} ${error.id}`.trim());
      const around = control.closest("details");
      if (around) around.open = true;
    }
    if (errors.length === 0) return;
    const first = form.elements[errors[0][0]];
    (first instanceof RadioNodeList ? first[0] : first).focus();
  }

  function keep() {
    const errors = window.weighInCheck(form);
    mark(errors);
    if (errors.length > 0) {
      state.textContent = "The network is away, and this one can’t wait yet: see what is marked.";
      return;
    }
    const { by, name } = form.dataset;
    write([...read(), { body: new URLSearchParams(new FormData(form)).toString(), who: me(), ...(shared && { by, name }) }]);
    form.elements.key.value = window.freshKey();
    for (const name of ["weight", "weight_oz", "note", "sheets", "sheet_length", "sheet_width", "sheet_size", "sheet_hem", "sheet_top_hem"]) if (form.elements[name]) form.elements[name].value = "";
    show("The network is away. These wait on this device and are sent when it is back, also if you close this page. Put their colour and weight on the tape; the number comes then.");
    form.elements.weight.focus();
  }

  // One after the other, and each taken off the list only when the workroom has answered for it.
  async function send() {
    state.textContent = "Sending…";
    while (waiting().length > 0) {
      const [one] = waiting();
      const { body } = one;
      const action = shared && one.by ? `/cloth/weigh-in?by=${encodeURIComponent(one.by)}` : form.action;
      const answer = await fetch(action, { method: "POST", body: new URLSearchParams(body) });
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const number = page.querySelector(".tag-number b");
      if (answer.ok && number) {
        sent.push([`${number.textContent}: ${told(one)}`, answer.url]);
        drop(body);
      } else if (answer.status === 422) {
        const why = page.querySelector(".error-summary li")?.textContent.trim() || "It can’t be weighed in like this.";
        write(read().map((one) => (one.body === body ? { ...one, refused: why } : one)));
      } else throw new Error(`answered ${answer.status}`);
    }
    show();
  }

  // One thing at a time, in the order asked for: a press while something is being sent waits for its turn.
  let last = Promise.resolve();
  const inTurn = (job) => (last = last.then(job, job));

  async function sendNow() {
    if (waiting().length === 0) return;
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

  // The page that the device kept carries a key that another page of it had, too.
  if (form.dataset.offline !== undefined) form.elements.key.value = window.freshKey();
  // Over TLS, and on this very machine, the page opens without a network from now on.
  navigator.serviceWorker
    ?.register("/static/weigh-in-offline.js", { scope: "/cloth/weigh-in" })
    .then((registered) => {
      if (form.dataset.offline !== undefined) return;
      if (shared) navigator.serviceWorker.ready.then(({ active }) => active.postMessage({ by: form.dataset.by }));
      else if (location.search === "") registered.active?.postMessage("keep");
    })
    .catch((error) => console.info("offline:", error.message));
  document.addEventListener("stands", () => {
    // A form that was another's is a new one.
    form.elements.key.value = window.freshKey();
    mark([]);
    show();
  });
  window.addEventListener("online", trySending);
  setInterval(trySending, 20000);
  show();
  trySending();
})();
