"use strict";
// the flow of settings: asks the server at every change; shows what it answers; moves along its map
(() => {
  const form = document.getElementById("cut");
  const answer = document.getElementById("answer");
  const figure = document.getElementById("map");
  const doubts = document.getElementById("doubts");
  const rest = document.getElementById("rest");
  const short = document.getElementById("short");
  const parts = [figure, doubts, rest];
  const sliders = document.getElementById("sliders");
  const depth = document.getElementById("s-depth");
  const across = document.getElementById("s-across");
  const again = document.getElementById("let");
  const STEPS = 1000;
  let map = null;
  let asked = 0;
  let shown = 0;
  let busy = false;
  let waiting = false;
  let late = null;
  let slid = false;

  const field = (name) => form.elements[name];

  async function ask() {
    if (busy) { waiting = true; return; }
    busy = true;
    const mine = ++asked;
    const begun = performance.now();
    try {
      const text = await millcalc.send("/settings/answer", form);
      if (mine > shown) {
        shown = mine;
        answer.innerHTML = text;
        answer.dataset.took = Math.round(performance.now() - begun);
        tell();
        for (const one of parts) { one.setAttribute("aria-busy", "true"); }
        const query = new URLSearchParams([...new FormData(form)].filter(([, value]) => value));
        history.replaceState(null, "", "/settings?" + query);
        clearTimeout(late);
        if (!waiting) { late = setTimeout(beside, 0); }
      }
    } catch (error) {
      answer.textContent = "The page's server does not answer. Is millcalc page still running?";
      clear();
    }
    busy = false;
    if (waiting) { waiting = false; ask(); }
  }

  const advice = () => { const card = answer.querySelector("[data-advice]"); return card ? card.dataset.advice : ""; };
  function clear() {
    for (const one of parts) { one.replaceChildren(); one.removeAttribute("aria-busy"); }
    placeSliders();
  }
  // a part that belongs to the advice that is shown; nothing when another one came meanwhile
  async function part(address) {
    const name = advice();
    const found = await millcalc.look(address + name);
    const made = document.createElement("template");
    made.innerHTML = await found.text();
    return found.ok && name === advice() ? made.content : null;
  }
  function put(place, nodes) { place.replaceChildren(...nodes); place.removeAttribute("aria-busy"); }

  // the map of the limits, right after the answer; when nothing more changes, what takes longer
  async function beside() {
    if (!advice()) { clear(); return; }
    const found = await part("/settings/map/");
    if (!found) { return; }
    put(figure, found.querySelector("[data-for=map]").childNodes);
    put(doubts, found.querySelector("[data-for=doubts]").childNodes);
    placeSliders();
    clearTimeout(late);
    late = setTimeout(more, 350);
  }
  async function more() {
    const found = await part("/settings/rest/");
    if (!found) { return; }
    const open = new Set([...rest.querySelectorAll("details[open] > summary")].map((one) => one.textContent));
    put(rest, found.childNodes);
    for (const one of rest.querySelectorAll("details > summary")) { one.parentElement.open = open.has(one.textContent); }
  }

  // what the sliders stand for, in words; said at once
  function tell() {
    const big = [...answer.querySelectorAll(".big strong")].map((one) => one.textContent);
    short.hidden = !big.length;
    short.textContent = (answer.querySelector("p.bad > strong") ? "Not within the limits: " : "") + big.join(" · ");
    if (!map) { return; }
    const cells = [...answer.querySelectorAll(".numbers > div")].map((row) => [row.querySelector("dt").textContent, row.querySelector("strong").textContent]);
    const told = (word) => (cells.find(([name]) => name.startsWith(word)) || ["", ""])[1];
    for (const [slider, shown, text] of [[depth, "o-depth", told("depth")], [across, "o-across", told(map.axis === "ae" ? "width" : "spindle")]]) {
      slider.setAttribute("aria-valuetext", text);
      document.getElementById(shown).textContent = text;
    }
    again.hidden = !(field("ap").value || field("ae").value || field("rpm").value);
  }

  // the sliders stand beside the map, so that a finger may stay on one while the answer changes
  function placeSliders() {
    const drawn = figure.querySelector("[data-map]");
    sliders.hidden = !drawn;
    map = drawn ? drawn.dataset : null;
    if (!drawn) { return; }
    document.getElementById("across-name").textContent = map.axis === "ae" ? "Width" : "Speed";
    const share = (value, low, high) => Math.round(STEPS * (value - low) / (high - low));
    if (document.activeElement !== depth || !sliding) { depth.value = share(+map.depth, 0, +map.top); }
    if (document.activeElement !== across || !sliding) { across.value = share(+map.here, +map.low, +map.high); }
    tell();
  }

  let sliding = false;
  const settled = (value, steps) => Number(value.toPrecision(steps));
  function give(which, share) {
    if (!map) { return; }
    slid = true;
    if (which === depth) { field("ap").value = settled(Math.max(0.005, +map.top * share), 3) + " mm"; }
    else {
      const value = +map.low + (+map.high - +map.low) * share;
      field(map.axis).value = map.axis === "ae" ? settled(value, 3) + " mm" : String(Math.round(value / 10) * 10);
    }
  }
  for (const slider of [depth, across]) {
    slider.addEventListener("input", () => { sliding = true; give(slider, slider.value / STEPS); ask(); });
    slider.addEventListener("change", () => { sliding = false; });
  }
  figure.addEventListener("click", (event) => {
    const drawn = event.target.closest("[data-map]");
    if (!drawn) { return; }
    const place = new DOMPoint(event.clientX, event.clientY).matrixTransform(drawn.getScreenCTM().inverse());
    const clamp = (value) => Math.min(1, Math.max(0, value));
    give(depth, clamp(1 - place.y / 300));
    give(across, clamp(place.x / 640));
    ask();
  });
  again.addEventListener("click", () => {
    for (const name of ["ap", "ae", "rpm"]) { field(name).value = ""; }
    slid = false;
    depth.focus();
    ask();
  });

  let typing = null;
  form.addEventListener("input", (event) => {
    if (event.target.matches("[data-find]")) { return; }
    clearTimeout(typing);
    if (event.target.type === "radio" || event.target.type === "checkbox") {
      if (["machine", "material", "cutter", "cut"].includes(event.target.name) && slid) {
        for (const name of ["ap", "ae", "rpm"]) { field(name).value = ""; }
        slid = false;
      }
      ask();
    } else { typing = setTimeout(ask, 150); }
  });
  form.addEventListener("submit", (event) => { event.preventDefault(); ask(); });
  placeSliders();
  tell();
  // while the answer itself is on the screen, its short form is not
  new IntersectionObserver(([seen]) => short.classList.toggle("away", seen.isIntersecting)).observe(answer);
  if (advice()) { more(); }
})();
