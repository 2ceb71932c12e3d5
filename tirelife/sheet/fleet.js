"use strict";
(() => {
  const table = document.getElementById("windows");
  if (!table) return;
  const body = table.tBodies[0], urgent = [...body.rows], rows = [...body.rows];
  const find = document.getElementById("find"), group = document.getElementById("group");
  const count = document.getElementById("count");
  function filter() {
    const text = find.value.trim().toLowerCase(), wanted = group ? group.value : "";
    let seen = 0;
    for (const row of rows) {
      const fits = row.textContent.toLowerCase().includes(text) && (!wanted || row.dataset.group === wanted);
      row.hidden = !fits;
      seen += fits ? 1 : 0;
    }
    count.textContent = `${seen} / ${rows.length}`;
  }
  find.addEventListener("input", filter);
  if (group) group.addEventListener("change", filter);
  const unsorted = () => {
    for (const head of table.tHead.rows[0].cells) if (head.hasAttribute("aria-sort")) head.setAttribute("aria-sort", "none");
  };
  const order = document.getElementById("sort"), buttons = table.querySelectorAll(".sort");
  // On a phone the headings are not shown: the same sorting by a choice.
  order.addEventListener("change", () => {
    if (order.value === "") {
      unsorted();
      body.append(...urgent);
      return;
    }
    buttons[Number(order.value)].parentElement.setAttribute("aria-sort", "none");
    buttons[Number(order.value)].click();
  });
  for (const button of table.querySelectorAll(".sort")) {
    button.addEventListener("click", () => {
      const head = button.parentElement, at = head.cellIndex;
      const up = head.getAttribute("aria-sort") !== "ascending";
      unsorted();
      head.setAttribute("aria-sort", up ? "ascending" : "descending");
      const key = (row) => {
        const cell = row.cells[at];
        return button.dataset.kind === "number" ? Number(cell.dataset.sort) : cell.textContent;
      };
      const sign = up ? 1 : -1;
      rows.sort((a, b) => {
        const x = key(a), y = key(b);
        return sign * (typeof x === "number" ? x - y : x.localeCompare(y, undefined, { numeric: true }));
      });
      body.append(...rows);
    });
  }
})();
