// The stepper without asking the server for each crossing: all of the row is in the picture, and what isn't woven yet is hidden. Without
// this file forward and back are links, and the next crossings stand as pictures below.
(() => {
  "use strict";

  const box = document.querySelector("[data-stepper]");
  const picture = box?.querySelector(".row-picture svg");
  if (!picture) return;
  const find = (part) => box.querySelector(part);
  const [count, says, more, slider, play, strip] = ["count", "says", "more", "slider", "play", "strip"].map((part) => find(`[data-step-${part}]`));
  const words = [...find("[data-step-words]").querySelectorAll("a")];
  const last = words.length - 1;
  let made = Number(box.dataset.made);
  let timer;

  function hide(part, hidden) {
    if (hidden) part.setAttribute("display", "none");
    else part.removeAttribute("display");
  }

  function show(step) {
    made = Math.min(Math.max(step, 0), last);
    for (const part of picture.querySelectorAll("[data-at]")) {
      hide(part, Number(part.dataset.at) > made);
    }
    for (const part of picture.querySelectorAll("[data-only]")) {
      hide(part, Number(part.dataset.only) !== made);
    }
    const { width, height } = picture.viewBox.baseVal;
    const middle = Number(picture.querySelector(`[data-part="front"][data-at="${Math.max(made, 1)}"]`).dataset.middle);
    const from = Math.min(Math.max(middle - width / 2, 0), Math.max(Number(picture.dataset.all) - width, 0));
    picture.setAttribute("viewBox", `${from} 0 ${width} ${height}`);
    says.textContent = words[made].textContent;
    picture.querySelector("title").textContent = `${made} of ${last} crossings`;
    picture.querySelector("desc").textContent = words[made].textContent;
    count.textContent = made === 0 ? "Before the first crossing" : `Crossing ${made} of ${last}`;
    slider.value = made;
    history.replaceState(null, "", words[made].href);
    point("back", made > 0 ? words[made - 1].href : box.dataset.before, "Back");
    point("next", made < last ? words[made + 1].href : box.dataset.after, made < last ? "Next crossing" : "Next row");
  }

  // Beyond either end the links lead to another row, and go their own way.
  function point(part, href, label) {
    const link = find(`[data-step-${part}]`);
    link.hidden = !href;
    link.href = href || "#main";
    link.textContent = label;
  }

  function stop() {
    clearInterval(timer);
    timer = undefined;
    play.textContent = "Play";
  }

  box.addEventListener("click", (event) => {
    const link = event.target.closest("a");
    if (!link) return;
    const step = link.matches("[data-step-next]") ? made + 1 : link.matches("[data-step-back]") ? made - 1 : words.indexOf(link);
    stop();
    if (step < 0 || step > last) return;
    event.preventDefault();
    show(step);
  });
  document.addEventListener("keydown", (event) => {
    if (event.altKey || event.ctrlKey || event.metaKey || event.target.closest("input, select, textarea, summary")) return;
    const step = { ArrowRight: made + 1, ArrowLeft: made - 1, Home: 0, End: last }[event.key];
    if (step === undefined) return;
    event.preventDefault();
    stop();
    show(step);
  });
  slider.addEventListener("input", () => {
    stop();
    show(Number(slider.value));
  });
  play.addEventListener("click", () => {
    if (timer) return stop();
    if (made === last) show(0);
    play.textContent = "Stop";
    timer = setInterval(() => {
      show(made + 1);
      if (made === last) stop();
    }, 1200);
  });
  more.hidden = false;
  strip.open = false;
})();
