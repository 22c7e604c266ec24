// Small helps on top of pages that work without them: no page needs this file, and nothing here speaks to the server.
(() => {
  "use strict";

  const each = (selector, act) => document.querySelectorAll(selector).forEach(act);

  // A second press while the first is on its way adds nothing. Disabled only after the form's data were taken,
  // or the pressed button's own name and value would be missing from them.
  function submitOnce() {
    document.addEventListener("submit", (event) => {
      const form = event.target;
      if (form.dataset.sent) {
        event.preventDefault();
        return;
      }
      setTimeout(() => {
        if (event.defaultPrevented || form.method === "get") return;
        form.dataset.sent = "yes";
        if (event.submitter) event.submitter.disabled = true;
      });
    });
    // Coming back to the page with the browser's own button shows it as it was left.
    window.addEventListener("pageshow", () => {
      each("form[data-sent]", (form) => {
        delete form.dataset.sent;
        for (const button of form.elements) {
          if (button.type === "submit") button.disabled = false;
        }
      });
    });
  }

  // What waits on this device to be sent ends with signing out; nobody loses it without being asked.
  const WAITING = "weigh-ins that wait";
  const ROWS = "rows that wait";
  function kept(place, count) {
    try {
      return count(JSON.parse(localStorage.getItem(place)) || {});
    } catch {
      // What can't be read waits for nothing.
      return 0;
    }
  }
  function signOutClears() {
    each("form[action='/sign-out']", (form) => {
      form.addEventListener("submit", (event) => {
        const weighed = kept(WAITING, (waiting) => waiting.length ?? 0);
        const rows = kept(ROWS, (rugs) => Object.values(rugs).filter((rug) => rug.waiting.length > 0).length);
        const lost = [];
        if (weighed > 0) lost.push(weighed === 1 ? "1 weigh-in that waits" : `${weighed} weigh-ins that wait`);
        if (rows > 0) lost.push("counted rows that wait");
        if (lost.length > 0 && !window.confirm(`Signing out throws away ${lost.join(" and ")} on this device. Sign out all the same?`)) {
          event.preventDefault();
          return;
        }
        localStorage.removeItem(WAITING);
        localStorage.removeItem(ROWS);
        if (window.caches) for (const name of ["weigh-in", "rows"]) caches.delete(name);
      });
    });
  }

  function printButtons() {
    each("[data-print]", (button) => {
      button.hidden = false;
      button.addEventListener("click", () => window.print());
    });
  }

  function rowsOf(table) {
    return [...table.tBodies].flatMap((body) => [...body.rows]);
  }

  function addFilter(table) {
    const label = document.createElement("label");
    label.className = "field filter no-print";
    const words = document.createElement("span");
    words.textContent = table.dataset.filterLabel || "Find in this list";
    const input = document.createElement("input");
    input.type = "search";
    input.autocomplete = "off";
    const found = document.createElement("p");
    found.className = "hint";
    found.setAttribute("role", "status");
    label.append(words, input);
    (table.closest(".table-wrap") || table).before(label, found);

    input.addEventListener("input", () => {
      const wanted = input.value.toLowerCase().split(/\s+/).filter(Boolean);
      let shown = 0;
      for (const row of rowsOf(table)) {
        const text = row.textContent.toLowerCase();
        row.hidden = !wanted.every((word) => text.includes(word));
        if (!row.hidden) shown += 1;
      }
      const all = rowsOf(table).length;
      found.textContent = wanted.length === 0 ? "" : shown === 0 ? "Nothing fits these words." : `${shown} of ${all} shown`;
    });
  }

  // Sorted by data-value where the cell has one (an ISO date, whole grams), otherwise by what is read.
  const order = new Intl.Collator(document.documentElement.lang, { numeric: true, sensitivity: "base" });
  const compare = (a, b) => (a !== "" && b !== "" && a - b) || order.compare(a, b);
  const valueIn = (row, column) => {
    const cell = row.cells[column];
    return cell ? (cell.dataset.value ?? cell.textContent.trim()) : "";
  };

  function addSorting(heading) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "sort";
    button.append(...heading.childNodes);
    heading.append(button);

    button.addEventListener("click", () => {
      const down = heading.getAttribute("aria-sort") === "ascending";
      for (const other of heading.parentNode.cells) other.removeAttribute("aria-sort");
      heading.setAttribute("aria-sort", down ? "descending" : "ascending");
      for (const body of heading.closest("table").tBodies) {
        const rows = [...body.rows].sort(
          (a, b) => compare(valueIn(a, heading.cellIndex), valueIn(b, heading.cellIndex)) * (down ? -1 : 1),
        );
        body.append(...rows);
      }
    });
  }

  // A text to send can be copied in one press; without a script it is marked and copied by hand.
  function addCopy(field) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "button small secondary";
    button.textContent = "Copy";
    button.addEventListener("click", async () => {
      field.select();
      try {
        // Browsers have a clipboard only over TLS and on this machine itself; elsewhere the old way still serves.
        if (navigator.clipboard) await navigator.clipboard.writeText(field.value);
        else document.execCommand("copy");
        button.textContent = "Copied";
      } catch {
        button.textContent = "Marked: copy it";
      }
      setTimeout(() => (button.textContent = "Copy"), 4000);
    });
    field.parentNode.querySelector(".actions")?.prepend(button);
  }

  signOutClears();
  submitOnce();
  printButtons();
  // A stroke leads to the box that finds everything, unless something is being typed.
  function findByKey() {
    const box = document.querySelector("[data-find]");
    if (!box) return;
    document.addEventListener("keydown", (event) => {
      const within = event.target.closest?.("input, textarea, select, [contenteditable]");
      if (event.key !== "/" || within || event.ctrlKey || event.altKey || event.metaKey) return;
      const menu = box.closest("[popover]");
      if (menu && !box.checkVisibility()) menu.showPopover?.();
      event.preventDefault();
      box.focus();
      box.select();
    });
  }

  findByKey();
  each("table[data-filterable]", addFilter);
  each("th[data-sort]", addSorting);
  each("[data-copy]", addCopy);
  each("[data-focus]", (part) => part.focus());
})();
