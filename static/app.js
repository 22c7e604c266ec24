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

  submitOnce();
  printButtons();
  each("table[data-filterable]", addFilter);
  each("th[data-sort]", addSorting);
  each("[data-focus]", (part) => part.focus());
})();
