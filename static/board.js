// The drawing board: every change is sent as the board's buttons would send it, and what the answer shows takes the place of what
// is shown. Here is only what buttons can't do: dragging the bounds of bands, taking a band by a touch on the rug, undoing.
// Without this script the buttons, and the figures, do the rest.
(() => {
  const form = document.getElementById("rug-form");
  if (!form) return;
  const typed = () => new URLSearchParams(new FormData(form));
  // What was typed before each change of the bands, and what was undone.
  const before = [];
  const undone = [];
  // Changes that wait for their turn, each made of the form as it stands then; and whether the form is to be looked at besides.
  const waiting = [];
  let looks = false;
  let asking = false;
  let dragging;

  // One question at a time.
  const run = async () => {
    if (asking) return;
    asking = true;
    while (waiting.length || looks) {
      const change = waiting.shift();
      if (!change) looks = false;
      const body = change ? change() : typed();
      body.set("look", "yes");
      try {
        const answer = await fetch(form.action, { method: "POST", body });
        const page = new DOMParser().parseFromString(await answer.text(), "text/html");
        // What was asked before the last move of a hand is out of date.
        if (change || !looks) show(page, Boolean(change));
      } catch (error) {
        // A dropped connection leaves what is shown; the next change asks again.
        console.info("board:", error.message);
      }
    }
    asking = false;
  };
  const look = () => {
    looks = true;
    run();
  };
  const queue = (change) => {
    waiting.push(change);
    run();
  };

  const replace = (page, selector) => {
    const [old, fresh] = [document.querySelector(selector), page.querySelector(selector)];
    if (old && fresh) old.replaceWith(document.adoptNode(fresh));
  };

  // What the answer shows. While a bound is dragged its grip stays where the finger is.
  const show = (page, fields) => {
    if (document.querySelector("[data-painting]")) {
      for (const part of ["[data-rug] > svg", ".board-cover"]) replace(page, part);
      return;
    }
    if (dragging) {
      for (const part of ["[data-rug] > svg", ".board-cover", ".board-shelf"]) replace(page, part);
      return;
    }
    const focus = document.activeElement;
    const again = focus?.closest("#preview") && [focus.name, focus.value, focus.dataset.bound];
    document.dispatchEvent(new Event("board-leaves"));
    const open = document.getElementById("bands")?.open;
    replace(page, "#preview");
    replace(page, "[data-frame]");
    if (fields) replace(page, "#bands");
    const bands = document.getElementById("bands");
    if (bands && open) bands.open = true;
    dress();
    document.dispatchEvent(new Event("board-shown"));
    if (again) {
      const same = [...document.querySelectorAll("#preview button, #preview input")];
      const [name, value, bound] = again;
      same.find((one) => (bound ? one.dataset.bound === bound : one.name === name && one.value === value))?.focus();
    }
  };

  const remember = () => {
    before.push(typed().toString());
    if (before.length > 100) before.shift();
    undone.length = 0;
  };

  // Changes the form's bands by the server: name and value are those of one of the board's buttons.
  const press = (name, value) =>
    queue(() => {
      remember();
      const body = typed();
      body.set(name, value);
      return body;
    });

  const back = (from, to) =>
    queue(() => {
      const now = typed();
      const last = from.pop();
      if (last === undefined) return now;
      to.push(now.toString());
      return new URLSearchParams(last);
    });

  const heights = () => {
    const bands = [...document.querySelectorAll("[data-board] .board-band")].reverse();
    return bands.map((band) => ({ mm: Number(band.dataset.height), number: band.querySelector("input").value, band }));
  };
  const board = () => document.querySelector("[data-board]");
  const show_mm = (mm) => (board().dataset.unit === "in" ? `${+(mm / 25.4).toFixed(4)} in` : `${+(mm / 10).toFixed(3)} cm`);

  // The form names its bands by their rows, which may have gaps; the board counts those that have a height.
  const field = (number) => [...form.querySelectorAll('[name^="band-"][name$="-height"]')].filter((one) => one.value.trim())[number - 1];

  // Moves the bound over a band by so much; the last bound is the rug's end. Whether it moved.
  const move = (bound, to) => {
    const all = heights();
    const step = Number(board().dataset.step);
    const below = all.slice(0, bound).reduce((sum, one) => sum + one.mm, 0);
    const pair = below + all[bound].mm + (all[bound + 1]?.mm ?? 0);
    const end = all[bound + 1] ? pair - step : Number(board().dataset.span);
    const at = Math.min(end, Math.max(below + step, Math.round(to / step) * step));
    if (Math.abs(at - below - all[bound].mm) < 0.01) return false;
    const set = (one, mm) => {
      one.band.dataset.height = mm;
      one.band.querySelector("strong").textContent = show_mm(mm);
      const typed = field(Number(one.number));
      if (typed) typed.value = show_mm(mm);
    };
    set(all[bound], at - below);
    if (all[bound + 1]) set(all[bound + 1], pair - at);
    place();
    return true;
  };

  const place = () => {
    const svg = document.querySelector("[data-rug] > svg");
    const grips = document.querySelectorAll(".board-grip");
    const matrix = svg?.getScreenCTM();
    if (!matrix) return;
    const from = document.querySelector(".board-rug").getBoundingClientRect();
    const [high, right] = [length_of(svg), wide_of(svg)];
    let end = 0;
    heights().forEach((one, n) => {
      end += one.mm;
      const at = new DOMPoint(right, high - end).matrixTransform(matrix);
      const grip = grips[n];
      if (!grip) return;
      grip.style.left = `${at.x - from.left}px`;
      grip.style.top = `${at.y - from.top}px`;
      grip.setAttribute("aria-valuenow", String(Math.round(end)));
      grip.setAttribute("aria-valuetext", `${show_mm(end)} from the start`);
    });
  };
  // The rug within its ruler: the frame around it is the drawing's last rect of its own.
  const frame_of = (svg) => svg.querySelector(":scope > rect[fill=none]");
  const length_of = (svg) => Number(frame_of(svg).getAttribute("height"));
  const wide_of = (svg) => Number(frame_of(svg).getAttribute("width"));
  const place_of = (event) => {
    return dragging.high - new DOMPoint(event.clientX, event.clientY).matrixTransform(dragging.matrix.inverse()).y;
  };

  const dress = () => {
    const rug = document.querySelector(".board-rug");
    for (const [name, list, to] of [["[data-undo]", before, undone], ["[data-redo]", undone, before]]) {
      const button = document.querySelector(name);
      if (!button) continue;
      button.hidden = false;
      button.disabled = list.length === 0;
      button.onclick = () => back(list, to);
    }
    if (!rug) return;
    heights().forEach((one, n) => {
      const grip = document.createElement("button");
      grip.type = "button";
      grip.className = "board-grip no-print";
      grip.dataset.bound = n;
      grip.textContent = "↕";
      grip.setAttribute("role", "slider");
      grip.setAttribute("aria-orientation", "vertical");
      grip.setAttribute("aria-valuemin", "0");
      grip.setAttribute("aria-valuemax", String(Math.round(Number(board().dataset.span))));
      grip.setAttribute("aria-label", n + 1 === heights().length ? "The rug’s end" : `Top of band ${n + 1}`);
      rug.append(grip);
    });
    place();
  };

  document.addEventListener("pointerdown", (event) => {
    const grip = event.target.closest?.(".board-grip");
    if (!grip || event.button !== 0) return;
    const svg = document.querySelector("[data-rug] > svg");
    remember();
    dragging = { bound: Number(grip.dataset.bound), matrix: svg.getScreenCTM(), high: length_of(svg), moved: false };
    grip.setPointerCapture(event.pointerId);
    event.preventDefault();
    grip.focus();
  });
  document.addEventListener("pointermove", (event) => {
    if (!dragging || !event.target.closest?.(".board-grip")) return;
    if (move(dragging.bound, place_of(event))) {
      dragging.moved = true;
      // The end moves the whole drawing under the finger: it is drawn anew when it is let go.
      if (dragging.bound + 1 < heights().length) look();
    }
  });
  const drop = () => {
    if (!dragging) return;
    const { moved } = dragging;
    dragging = undefined;
    if (moved) look();
    else before.pop();
  };
  document.addEventListener("pointerup", drop);
  document.addEventListener("pointercancel", drop);

  document.addEventListener("keydown", (event) => {
    const grip = event.target.closest?.(".board-grip");
    const by = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1, PageUp: 4, PageDown: -4 }[event.key];
    if (!grip || !by) return;
    event.preventDefault();
    const bound = Number(grip.dataset.bound);
    const step = Number(board().dataset.step);
    const end = heights().slice(0, bound + 1).reduce((sum, one) => sum + one.mm, 0);
    remember();
    if (move(bound, end + by * step)) look();
    else before.pop();
  });

  document.addEventListener("click", (event) => {
    const button = event.target.closest?.('#preview button[form="rug-form"]');
    if (button) {
      event.preventDefault();
      press(button.name, button.value);
      return;
    }
    const svg = event.target.closest?.("[data-rug] > svg");
    if (!svg) return;
    // The band under the finger is the one at hand.
    const y = length_of(svg) - new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse()).y;
    let end = 0;
    const band = heights().find((one) => (end += one.mm) > y);
    if (y < 0 || !band) return;
    band.band.querySelector("input").checked = true;
    look();
  });

  let timer;
  const soon = (event) => {
    if (event.target.closest?.("#preview")) {
      look();
      return;
    }
    clearTimeout(timer);
    timer = setTimeout(look, 250);
  };
  // The board's own fields stand outside of the form.
  // What is typed for a chart's buttons changes nothing before one is pressed.
  const counts = (event) => event.target.form === form && !event.target.closest?.("[data-chart]");
  document.addEventListener("input", (event) => {
    if (counts(event) && event.target.type !== "radio") soon(event);
  });
  document.addEventListener("change", (event) => {
    if (counts(event)) soon(event);
  });
  // The chart's grid changes a field of the form by itself: what was typed before it is remembered, and the rug looked at after.
  document.addEventListener("chart-changes", remember);
  document.addEventListener("chart-changed", look);
  addEventListener("resize", place);
  // Faces that arrive late move the drawing.
  document.fonts?.ready.then(place);
  dress();
})();
