// Dropping files and telling the progress; everything works without it, with a little more waiting.
"use strict";

document.documentElement.classList.add("live");

const chooser = document.getElementById("mockups");
if (chooser) {
  const problem = document.querySelector("[data-file-problem]");

  const list = document.querySelector("[data-chosen]");

  const check = () => {
    list.replaceChildren(
      ...Array.from(chooser.files, (file) => {
        const item = document.createElement("li");
        item.textContent = file.name;
        return item;
      }),
    );
    list.hidden = chooser.files.length < 2;
    const sizes = Array.from(chooser.files, (file) => file.size);
    const sum = sizes.reduce((all, size) => all + size, 0);
    const mb = (bytes) => Math.floor(Number(bytes) / 1e6);
    let words = "";
    if (sizes.some((size) => size > Number(chooser.dataset.mostFile))) {
      words = `A file is larger than ${mb(chooser.dataset.mostFile)} MB.`;
    } else if (sum > Number(chooser.dataset.mostRequest)) {
      words = `Together the files are larger than ${mb(chooser.dataset.mostRequest)} MB.`;
    }
    chooser.setCustomValidity(words);
    problem.textContent = words;
    problem.hidden = !words;
  };
  chooser.addEventListener("change", check);
  check();

  const hasFiles = (event) => event.dataTransfer && event.dataTransfer.types.includes("Files");
  document.addEventListener("dragover", (event) => {
    if (!hasFiles(event)) return;
    event.preventDefault();
    document.documentElement.classList.add("dragging");
  });
  document.addEventListener("dragleave", (event) => {
    if (!event.relatedTarget) document.documentElement.classList.remove("dragging");
  });
  document.addEventListener("drop", (event) => {
    if (!hasFiles(event)) return;
    event.preventDefault();
    document.documentElement.classList.remove("dragging");
    chooser.files = event.dataTransfer.files;
    check();
    chooser.focus();
  });
}

const follow = async (place) => {
  for (;;) {
    await new Promise((wake) => setTimeout(wake, 700));
    let state;
    try {
      const reply = await fetch(place.dataset.state);
      if (!reply.ok) throw new Error(reply.statusText);
      state = await reply.json();
    } catch {
      place.textContent = "The page was stopped. Start it again with: mockcheck serve";
      return;
    }
    if (place.textContent !== state.words) place.textContent = state.words;
    if (state.is_over) {
      if ("thenReload" in place.dataset) location.reload();
      return;
    }
  }
};
document.querySelectorAll("[data-state]").forEach(follow);
