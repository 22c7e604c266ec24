// Speeds the scale's station up: the first field has the focus, and a colour can be picked from a photo, which never
// leaves the device. The page works without this file.
(() => {
  "use strict";

  const form = document.querySelector("[data-weigh-in]");
  if (!form) return;

  if (!document.getElementById("errors")) {
    // Another bundle of the same cloth lacks its weight only.
    const weight = form.querySelector("[name=colour]:checked") && form.querySelector("[name=weight]");
    const first = weight || form.querySelector("[name=kind]:checked") || form.querySelector("[name=kind]");
    // The number for the tape stays in sight.
    if (first) first.focus({ preventScroll: true });
  }

  const own = form.querySelector("[name=colour][value=own]");
  const hex = document.getElementById("own_hex");
  const showOwn = () => {
    own.checked = true;
    own.closest(".choice").querySelector("rect").setAttribute("fill", hex.value);
  };
  hex.addEventListener("input", showOwn);
  form.addEventListener("change", (event) => {
    if (event.target === own) hex.closest("details").open = true;
  });

  const photo = form.querySelector("[data-photo]");
  const canvas = photo.querySelector("canvas");
  const words = photo.querySelector("[data-photo-words]");
  const paper = canvas.getContext("2d", { willReadFrequently: true });
  const reach = 8;
  let picture = null;
  let at = { x: 0, y: 0 };

  // The mean of a small square, as cloth has threads and photos have noise.
  function pick() {
    at = { x: Math.min(Math.max(at.x, 0), canvas.width - 1), y: Math.min(Math.max(at.y, 0), canvas.height - 1) };
    paper.drawImage(picture, 0, 0, canvas.width, canvas.height);
    const left = Math.max(at.x - reach, 0);
    const top = Math.max(at.y - reach, 0);
    const { data } = paper.getImageData(left, top, 2 * reach + 1, 2 * reach + 1);
    const sum = [0, 0, 0, 0];
    for (let i = 0; i < data.length; i += 4) {
      if (data[i + 3] === 0) continue;
      for (let part = 0; part < 3; part += 1) sum[part] += data[i + part];
      sum[3] += 1;
    }
    const mean = (part) => Math.round(part / (sum[3] || 1)).toString(16).padStart(2, "0");
    hex.value = "#" + sum.slice(0, 3).map(mean).join("");
    for (const [width, ink] of [[5, "#fff"], [2, "#000"]]) {
      paper.beginPath();
      paper.arc(at.x, at.y, reach + 6, 0, 2 * Math.PI);
      paper.lineWidth = width;
      paper.strokeStyle = ink;
      paper.stroke();
    }
    words.textContent = `Taken from the ring: ${hex.value}. Touch another place of the cloth to change it.`;
    showOwn();
  }

  photo.hidden = false;
  photo.querySelector("input").addEventListener("change", async (event) => {
    const [file] = event.target.files;
    if (!file) return;
    try {
      picture = await createImageBitmap(file);
    } catch {
      words.textContent = "This file can’t be shown as a photo. Take another, or choose the colour above.";
      return;
    }
    canvas.width = Math.min(picture.width, 640);
    canvas.height = Math.max(Math.round((picture.height * canvas.width) / picture.width), 1);
    canvas.hidden = false;
    at = { x: Math.floor(canvas.width / 2), y: Math.floor(canvas.height / 2) };
    pick();
  });
  canvas.addEventListener("pointerdown", (event) => {
    const scale = canvas.width / canvas.clientWidth;
    at = { x: Math.floor(event.offsetX * scale), y: Math.floor(event.offsetY * scale) };
    pick();
  });
  canvas.addEventListener("keydown", (event) => {
    const step = { ArrowLeft: [-8, 0], ArrowRight: [8, 0], ArrowUp: [0, -8], ArrowDown: [0, 8] }[event.key];
    if (!step) return;
    event.preventDefault();
    at = { x: at.x + step[0], y: at.y + step[1] };
    pick();
  });
})();
