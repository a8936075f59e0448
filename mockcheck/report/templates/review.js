"use strict";
(() => {
  const byId = (id) => document.getElementById(id);
  const findings = [...document.querySelectorAll("details.finding")];
  const marks = [...document.querySelectorAll("a.mark")];
  const form = byId("filters");
  const isShown = (finding) => !finding.hidden;
  document.documentElement.classList.add("live");

  /* What is off the screen is not laid out yet, so its height is guessed from what it holds. */
  const ROW_PX = 76;
  const lots = [...document.querySelectorAll(".lot")];
  const guessHeights = () => {
    for (const lot of lots) {
      const rows = [...lot.children].filter(isShown).length;
      lot.hidden = rows === 0;
      lot.style.containIntrinsicSize = `auto ${rows * ROW_PX}px`;
    }
  };
  guessHeights();

  /* Filters: what is hidden in the list is hidden in the cue, too. */
  const filter = () => {
    const part = byId("by-part").value;
    const family = byId("by-family").value;
    const accepted = byId("by-accepted").value;
    const boxes = [...form.elements.severity].filter((box) => box.checked);
    const severities = new Set(boxes.map((box) => box.value));
    for (const finding of findings) {
      const its = finding.dataset;
      const isAccepted = "a" in its ? "yes" : "no";
      finding.hidden =
        (part !== "" && its.p !== part) ||
        (family !== "" && its.f !== family) ||
        (accepted !== "" && isAccepted !== accepted) ||
        !severities.has(its.s);
    }
    guessHeights();
    const shown = findings.filter(isShown).length;
    for (const group of document.querySelectorAll("section.part")) {
      const isEmpty = group.querySelector("details:not([hidden])") === null;
      group.hidden = isEmpty && shown < findings.length;
    }
    for (const mark of marks) {
      const first = mark.dataset.n.split(" ").map((n) => findings[n]).find(isShown);
      mark.classList.toggle("filtered", first === undefined);
      if (first !== undefined) mark.setAttribute("href", `#${first.id}`);
    }
    const number = (n) => n.toLocaleString("en-GB");
    byId("count").value = `${number(shown)} of ${number(findings.length)} findings shown`;
  };
  if (form !== null) {
    form.hidden = false;
    form.addEventListener("change", filter);
    form.addEventListener("reset", () => setTimeout(filter));
    form.addEventListener("submit", (event) => event.preventDefault());
  }

  /* The list: arrow keys go from finding to finding, the two buttons open the next one. */
  const open = (finding) => {
    finding.open = true;
    finding.scrollIntoView({ block: "start" });
    finding.firstElementChild.focus({ preventScroll: true });
  };
  let current = null;
  const beside = (step) => {
    const shown = findings.filter(isShown);
    const place = shown.indexOf(current);
    if (place < 0) return step > 0 ? shown[0] : shown[shown.length - 1];
    return shown[place + step];
  };
  for (const [id, step] of [["next", 1], ["previous", -1]]) {
    byId(id)?.addEventListener("click", () => {
      const finding = beside(step);
      if (finding === undefined) return;
      current = finding;
      open(finding);
    });
  }
  document.addEventListener("focusin", (event) => {
    const finding = event.target.closest("details.finding");
    if (finding !== null) current = finding;
  });
  byId("findings").addEventListener("keydown", (event) => {
    if (event.target.tagName !== "SUMMARY") return;
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (step === undefined) return;
    const finding = beside(step);
    event.preventDefault();
    finding?.firstElementChild.focus();
  });

  /* A link to a finding opens it, even where a filter had hidden it. */
  const follow = () => {
    const wanted = byId(decodeURIComponent(location.hash.slice(1)));
    if (wanted === null || !wanted.matches("details.finding")) return;
    if (wanted.hidden) {
      form.reset();
      filter();
    }
    current = wanted;
    open(wanted);
  };
  addEventListener("hashchange", follow);
  follow();

  /* The cue: one stop of the tab key, then arrow keys from mark to mark. */
  const music = byId("music");
  const readout = byId("readout");
  const box = new Map();
  const place = (mark) => {
    if (!box.has(mark)) {
      const use = mark.querySelector("use");
      box.set(mark, [Number(use.getAttribute("x")), Number(mark.dataset.row)]);
    }
    return box.get(mark);
  };
  const say = (mark) => {
    readout.textContent = mark.querySelector("title").textContent;
  };
  const rows = () => {
    const by = new Map();
    for (const mark of marks) {
      if (mark.classList.contains("filtered")) continue;
      const [, row] = place(mark);
      if (!by.has(row)) by.set(row, []);
      by.get(row).push(mark);
    }
    const inTime = (a, b) => place(a)[0] - place(b)[0];
    return [...by].sort((a, b) => a[0] - b[0]).map(([, row]) => row.sort(inTime));
  };
  const step = (mark, key) => {
    const all = rows();
    const [x, its] = place(mark);
    const row = all.findIndex((one) => place(one[0])[1] === its);
    if (key === "ArrowRight") return all[row][all[row].indexOf(mark) + 1];
    if (key === "ArrowLeft") return all[row][all[row].indexOf(mark) - 1];
    if (key === "Home") return all[row][0];
    if (key === "End") return all[row][all[row].length - 1];
    const other = all[row + (key === "ArrowDown" ? 1 : -1)] ?? [];
    const distance = (one) => Math.abs(place(one)[0] - x);
    return [...other].sort((a, b) => distance(a) - distance(b))[0];
  };
  const KEYS = ["ArrowRight", "ArrowLeft", "ArrowUp", "ArrowDown", "Home", "End"];
  music.addEventListener("keydown", (event) => {
    if (!KEYS.includes(event.key)) return;
    const mark = event.target.closest("a.mark");
    const next = mark === null ? rows()[0]?.[0] : step(mark, event.key);
    event.preventDefault();
    next?.focus();
  });
  music.addEventListener("focusin", (event) => {
    const mark = event.target.closest("a.mark");
    if (mark !== null) say(mark);
  });
  music.addEventListener("mouseover", (event) => {
    const mark = event.target.closest("a.mark");
    if (mark !== null) say(mark);
  });
  music.addEventListener("click", (event) => {
    const mark = event.target.closest("a.mark");
    if (mark !== null && mark.getAttribute("href") === location.hash) follow();
  });

  /* On paper everything is open. */
  let closed = [];
  addEventListener("beforeprint", () => {
    closed = findings.filter((finding) => !finding.open);
    for (const finding of closed) finding.open = true;
  });
  addEventListener("afterprint", () => {
    for (const finding of closed) finding.open = false;
  });
})();
