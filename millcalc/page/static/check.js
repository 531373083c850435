"use strict";
// a program that is dropped anywhere on the field is taken at once
(() => {
  const form = document.getElementById("send");
  const file = document.getElementById("program");
  const told = document.getElementById("sending");
  for (const name of ["dragover", "dragenter"]) {
    form.addEventListener(name, (event) => { event.preventDefault(); form.classList.add("over"); });
  }
  form.addEventListener("dragleave", () => form.classList.remove("over"));
  form.addEventListener("drop", (event) => {
    event.preventDefault();
    form.classList.remove("over");
    if (event.dataTransfer.files.length) { file.files = event.dataTransfer.files; form.requestSubmit(); }
  });
  // while checks run their list is read again, but never under somebody's hands
  if (document.querySelector("[data-live]")) {
    setInterval(() => { if (!file.files.length && !document.hidden) { location.reload(); } }, 2000);
  }
  form.addEventListener("submit", () => { told.textContent = "reading it ..."; });
})();
