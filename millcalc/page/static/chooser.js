"use strict";
// choosers: type to find, tap or arrow keys to choose; the list closes and says what was chosen
(() => {
  for (const box of document.querySelectorAll("[data-chooser]")) {
    const find = box.querySelector("[data-find]");
    const options = [...box.querySelectorAll(".option")];
    const none = box.querySelector(".none");
    find.addEventListener("input", () => {
      const words = find.value.toLowerCase().split(/\s+/).filter(Boolean);
      let left = 0;
      for (const option of options) {
        option.hidden = !words.every((word) => option.dataset.words.includes(word));
        left += !option.hidden;
      }
      none.hidden = left > 0;
    });
    find.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" && event.key !== "ArrowDown") { return; }
      event.preventDefault();
      const first = options.find((option) => !option.hidden);
      if (!first) { return; }
      const radio = first.querySelector("input");
      if (event.key === "Enter") { radio.checked = true; radio.dispatchEvent(new Event("input", { bubbles: true })); close(radio); }
      else { radio.focus(); }
    });
    const name = (radio) => { box.querySelector("[data-chosen]").textContent = radio.dataset.title; };
    function close(radio) {
      name(radio);
      find.value = "";
      find.dispatchEvent(new Event("input", { bubbles: true }));
      box.open = false;
      // the next one that still lacks a choice opens by itself
      const next = [...document.querySelectorAll("[data-chooser]")].find((other) => !other.querySelector("input:checked"));
      if (next) { next.open = true; }
      (next || box).querySelector("summary").focus();
    }
    let pressed = false;
    box.addEventListener("pointerdown", () => { pressed = true; });
    box.addEventListener("keydown", () => { pressed = false; });
    box.addEventListener("change", (event) => {
      if (event.target.type !== "radio") { return; }
      name(event.target);
      if (pressed) { close(event.target); }
    });
    box.addEventListener("keydown", (event) => {
      if (event.key === "Enter" && event.target.type === "radio") { event.preventDefault(); close(event.target); }
      if (event.key === "Escape") { box.open = false; box.querySelector("summary").focus(); }
    });
    box.addEventListener("toggle", () => { if (box.open) { const chosen = box.querySelector("input:checked"); if (chosen) { chosen.closest(".option").scrollIntoView({ block: "nearest" }); } } });
  }
})();
