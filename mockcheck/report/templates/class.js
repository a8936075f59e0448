"use strict";
// Sorting the sheet by its headings; without this script the table stands as it was written.
(() => {
  const table = document.getElementById("sheet");
  const body = table.tBodies[0];
  const said = document.getElementById("sorted");
  const words = new Intl.Collator("en", { numeric: true, sensitivity: "base" });

  function value(row, key, isNumber) {
    const text = row.dataset[key];
    if (text === undefined || text === "") return null;
    return isNumber ? Number(text) : text;
  }

  function compare(one, other) {
    return typeof one === "number" ? one - other : words.compare(one, other);
  }

  function sort(button) {
    const head = button.closest("th");
    const isNumber = "number" in button.dataset;
    const before = head.getAttribute("aria-sort");
    // Numbers begin with the greatest, names with the first.
    const goesUp = before === null ? !isNumber : before === "descending";
    for (const other of table.querySelectorAll("th[aria-sort]")) other.removeAttribute("aria-sort");
    head.setAttribute("aria-sort", goesUp ? "ascending" : "descending");
    const rows = [...body.rows].map((row) => [value(row, button.dataset.key, isNumber), row]);
    rows.sort(([one], [other]) => {
      // Who has no points stands last either way.
      if (one === null || other === null) return (one === null) - (other === null);
      return goesUp ? compare(one, other) : compare(other, one);
    });
    body.append(...rows.map(([, row]) => row));
    said.textContent = `Sorted by ${button.textContent}, ${goesUp ? "rising" : "falling"}.`;
  }

  for (const button of table.querySelectorAll("th button")) {
    button.addEventListener("click", () => sort(button));
  }
})();
