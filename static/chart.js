// The chart of the band at hand as a grid: painted with a pointer, or with the arrow keys and the space bar; and a picture from the
// device reduced to its two colours. The chart itself is the form's text field, and all else that is done to it are buttons that
// need no script.
(() => {
  const form = document.getElementById("rug-form");
  if (!form) return;
  const desk = () => document.querySelector("[data-chart]");
  const field = () => form.elements.namedItem(desk()?.dataset.chart ?? "");
  // The rows from the top, true where the other strand shows; where the keys are; what a stroke paints.
  let cells = [];
  let at = [0, 0];
  let stroke;
  let drags = !matchMedia("(pointer: coarse)").matches;
  let focused = false;

  const read = () => {
    const lines = (field()?.value ?? "").split("\n").map((line) => line.trim()).filter(Boolean);
    cells = lines.map((line) => [...line].map((letter) => letter !== "."));
  };

  const write = (lines) => {
    const text = field();
    if (!text) return;
    document.dispatchEvent(new Event("chart-changes"));
    text.value = lines.map((line) => line.map((other) => (other ? "x" : ".")).join("")).join("\n");
    document.dispatchEvent(new Event("chart-changed"));
  };

  const grid = () => document.querySelector(".chart-grid");
  const cell = (row, unit) => grid()?.children[row]?.children[unit];
  const name = (other) => (other ? desk().dataset.otherName : desk().dataset.firstName);

  const dress_cell = (one, row, unit) => {
    const other = cells[row][unit];
    one.classList.toggle("other", other);
    one.setAttribute("aria-label", `Row ${cells.length - row}, unit ${unit + 1}: ${name(other)}`);
  };

  const paint = (row, unit, other) => {
    const one = cell(row, unit);
    if (!one || cells[row][unit] === other) return;
    cells[row][unit] = other;
    stroke.painted = true;
    dress_cell(one, row, unit);
  };

  const begin = (other) => {
    stroke = { other, painted: false };
    grid().dataset.painting = "";
  };
  const end = () => {
    if (!stroke) return;
    const { painted } = stroke;
    stroke = undefined;
    delete grid()?.dataset.painting;
    if (painted) write(cells);
  };

  const mark = () => {
    grid()?.querySelector(".at")?.classList.remove("at");
    at = [Math.min(at[0], cells.length - 1), Math.min(at[1], cells[0].length - 1)];
    const one = cell(...at);
    one?.classList.add("at");
    if (one) grid().setAttribute("aria-activedescendant", one.id);
    return one;
  };

  const place_of = (event) => {
    const one = document.elementFromPoint(event.clientX, event.clientY)?.closest?.(".chart-grid [role=gridcell]");
    return one && one.id.split("-").slice(1).map(Number);
  };

  const draw = () => {
    const here = document.querySelector("[data-chart-here]");
    if (!here || !field()) return;
    read();
    if (!cells.length || cells.some((line) => line.length !== cells[0].length)) return;
    const box = document.createElement("div");
    box.className = "chart-grid";
    box.tabIndex = 0;
    box.setAttribute("role", "grid");
    box.setAttribute("aria-label", "The chart: move with the arrow keys, change a unit with the space bar");
    const { first, other, ratio } = desk().dataset;
    for (const [key, value] of [["across", cells[0].length], ["first", first], ["other", other], ["ratio", ratio]]) {
      box.style.setProperty(`--${key}`, value);
    }
    cells.forEach((line, row) => {
      const shown = document.createElement("div");
      shown.setAttribute("role", "row");
      line.forEach((_, unit) => {
        const one = document.createElement("div");
        one.setAttribute("role", "gridcell");
        one.id = `cell-${row}-${unit}`;
        dress_cell(one, row, unit);
        shown.append(one);
      });
      box.append(shown);
    });
    const scroll = document.createElement("div");
    scroll.className = "chart-scroll";
    scroll.append(box);
    const choice = document.createElement("label");
    choice.className = "choice";
    const tick = document.createElement("input");
    tick.type = "checkbox";
    tick.checked = drags;
    tick.onchange = () => {
      drags = tick.checked;
      box.classList.toggle("paints", drags);
    };
    const says = document.createElement("span");
    says.textContent = "Paint by dragging";
    choice.append(tick, says);
    box.classList.toggle("paints", drags);
    here.replaceChildren(scroll, choice);
    mark();
  };

  // A picture from the device, made as small as the chart: what is darker than the threshold is in the darker colour.
  const light = (hex) => {
    const [r, g, b] = [1, 3, 5].map((from) => parseInt(hex.slice(from, from + 2), 16));
    return 0.299 * r + 0.587 * g + 0.114 * b;
  };
  let picture;
  let threshold = 128;
  const reduce = () => {
    if (!picture || !desk()) return;
    const size = (name, most) => Math.min(most, Math.max(1, Math.round(Number(document.getElementById(name)?.value) || 1)));
    const [across, high] = [size("chart_across", 120), size("chart_high", 120)];
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [across, high];
    const pen = canvas.getContext("2d");
    pen.fillStyle = "#fff";
    pen.fillRect(0, 0, across, high);
    pen.imageSmoothingQuality = "high";
    pen.drawImage(picture, 0, 0, across, high);
    const { data } = pen.getImageData(0, 0, across, high);
    const other_is_dark = light(desk().dataset.other) <= light(desk().dataset.first);
    const lines = Array.from({ length: high }, (_, row) =>
      Array.from({ length: across }, (_, unit) => {
        const from = (row * across + unit) * 4;
        const dark = 0.299 * data[from] + 0.587 * data[from + 1] + 0.114 * data[from + 2] < threshold;
        return dark === other_is_dark;
      }),
    );
    write(lines);
  };

  const offer_picture = () => {
    const here = document.querySelector("[data-chart-picture]");
    if (!here) return;
    const labelled = (words, input) => {
      const box = document.createElement("div");
      box.className = "field";
      const label = document.createElement("label");
      label.htmlFor = input.id;
      label.textContent = words;
      box.append(label, input);
      return box;
    };
    const file = document.createElement("input");
    Object.assign(file, { type: "file", accept: "image/*", id: "chart-file" });
    const range = document.createElement("input");
    Object.assign(range, { type: "range", min: "1", max: "255", value: String(threshold), id: "chart-threshold" });
    const says = document.createElement("p");
    says.className = "small";
    says.setAttribute("role", "status");
    file.onchange = async () => {
      const [chosen] = file.files;
      if (!chosen) return;
      try {
        picture = await createImageBitmap(chosen);
        reduce();
      } catch {
        says.textContent = "This file is no picture that the browser can read.";
      }
    };
    range.onchange = () => {
      threshold = Number(range.value);
      reduce();
    };
    here.className = "chart-maker";
    const all = [labelled("A picture from this device, in two colours", file)];
    if (picture) all.push(labelled("How much of it is dark", range));
    here.replaceChildren(...all, says);
  };

  document.addEventListener("pointerdown", (event) => {
    const place = event.button === 0 && place_of(event);
    if (!place || (event.pointerType === "touch" && !drags)) return;
    event.preventDefault();
    at = place;
    grid().focus({ preventScroll: true });
    mark();
    begin(!cells[place[0]][place[1]]);
    paint(...place, stroke.other);
  });
  document.addEventListener("pointermove", (event) => {
    const place = stroke && place_of(event);
    if (place) paint(...place, stroke.other);
  });
  document.addEventListener("pointerup", end);
  document.addEventListener("pointercancel", end);
  // A finger that scrolls paints by a tap alone.
  document.addEventListener("click", (event) => {
    if (event.pointerType !== "touch" || drags) return;
    const place = place_of(event);
    if (!place) return;
    at = place;
    mark();
    begin(!cells[place[0]][place[1]]);
    paint(...place, stroke.other);
    end();
  });

  document.addEventListener("keydown", (event) => {
    if (document.activeElement !== grid() || !cells.length) return;
    const ways = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] };
    if (event.key === " " || event.key === "Enter") {
      event.preventDefault();
      begin(!cells[at[0]][at[1]]);
      paint(...at, stroke.other);
      end();
      return;
    }
    const way = ways[event.key];
    if (!way) return;
    event.preventDefault();
    at = [Math.max(0, at[0] + way[0]), Math.max(0, at[1] + way[1])];
    mark()?.scrollIntoView({ block: "nearest", inline: "nearest" });
  });

  document.addEventListener("board-leaves", () => {
    focused = document.activeElement === grid() && Boolean(grid());
  });
  document.addEventListener("board-shown", () => {
    dress();
    if (focused) grid()?.focus({ preventScroll: true });
  });
  const dress = () => {
    draw();
    offer_picture();
  };
  dress();
})();
