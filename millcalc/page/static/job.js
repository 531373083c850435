"use strict";
// the plate in real millimetres: tap a corner for zero, tap or drag screws and clamps; the fields beside it say the same
(() => {
  const form = document.getElementById("job");
  const plate = document.getElementById("plate");
  const note = document.getElementById("plate-note");
  const unit = +form.dataset.unit;
  const DEFAULT = { x: 100, y: 100 };
  const SNAP = unit === 1 ? 0.5 : 25.4 / 64;
  const CORNERS = { "front-left": [0, 0], "front-right": [1, 0], "back-left": [0, 1], "back-right": [1, 1], centre: [0.5, 0.5] };
  const HEAD = 8;
  const COARSE = unit === 1 ? 1 : 25.4 / 32;
  const FINE = unit === 1 ? 0.1 : 0.0254;
  let changed = false;
  let next = form.querySelectorAll(".piece").length + 100;

  // a field as millimetres; NaN where it is empty or another unit stands in it that only the server reads
  const mm = (text) => (/^\s*[-+]?[\d.]+\s*$/.test(text) ? parseFloat(text) * unit : /^\s*[-+]?[\d.]+\s*mm\s*$/.test(text) ? parseFloat(text) : NaN);
  const shown = (value) => String(+(value / unit).toFixed(unit === 1 ? 2 : 4));
  const size = () => {
    const x = mm(form.elements.size_x.value), y = mm(form.elements.size_y.value);
    return x > 0 && y > 0 ? { x, y, known: true } : { ...DEFAULT, known: false };
  };
  const make = (name, attributes, parent = plate) => {
    const made = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const [key, value] of Object.entries(attributes)) { made.setAttribute(key, value); }
    parent.append(made);
    return made;
  };
  const inputs = (piece) => Object.fromEntries(["x", "y", "width", "length"].map((name) => [name, piece.querySelector(`[data-${name}]`)]));

  // a mark takes the focus and keeps it while the plate is drawn anew
  function marked(piece, says) {
    const mark = make("g", { class: "mark", tabindex: "0", role: "button", "aria-label": `${says}. Arrow keys move it, Delete takes it away.` });
    mark.piece = piece;
    return mark;
  }

  function draw() {
    const focused = plate.contains(document.activeElement) ? document.activeElement.piece : null;
    const s = size();
    const pad = Math.max(s.x, s.y) * 0.16;
    plate.setAttribute("viewBox", `${-pad} ${-pad} ${s.x + 2 * pad} ${s.y + 2 * pad}`);
    plate.replaceChildren();
    const y = (value) => s.y - value;
    make("rect", { x: 0, y: 0, width: s.x, height: s.y, class: s.known ? "stock" : "stock guess" });
    const reach = plate.dataset.reach && plate.dataset.reach.split(" ").map(Number);
    if (reach && s.known) { make("rect", { x: reach[0], y: y(reach[1] + reach[3]), width: reach[2], height: reach[3], class: "reach" }); }
    const r = Math.max(s.x, s.y) * 0.045;
    for (const [name, [fx, fy]] of Object.entries(CORNERS)) {
      const chosen = form.elements.zero_xy.value === name;
      make("circle", { cx: fx * s.x, cy: y(fy * s.y), r, class: chosen ? "corner chosen" : "corner" });
      if (chosen) {
        const x0 = fx * s.x + (mm(form.elements.offset_x.value) || 0), y0 = y(fy * s.y + (mm(form.elements.offset_y.value) || 0));
        make("path", { d: `M${x0} ${y0}h${3.2 * r}m${-0.8 * r} ${-0.5 * r}l${0.8 * r} ${0.5 * r}l${-0.8 * r} ${0.5 * r}M${x0} ${y0}v${-3.2 * r}m${-0.5 * r} ${0.8 * r}l${0.5 * r} ${-0.8 * r}l${0.5 * r} ${0.8 * r}`, class: "axes" });
      }
    }
    form.querySelectorAll("[data-clamp]").forEach((piece, index) => {
      const f = inputs(piece), [px, py, w, l] = [f.x, f.y, f.width, f.length].map((one) => mm(one.value));
      piece.querySelector("summary").textContent = `Clamp ${index + 1}: X ${f.x.value || "?"}, Y ${f.y.value || "?"}`;
      if ([px, py, w, l].some(Number.isNaN)) { return; }
      const mark = marked(piece, `C${index + 1}: clamp at X ${f.x.value}, Y ${f.y.value}`);
      make("rect", { x: px, y: y(py + l), width: w, height: l, class: "clamp" }, mark);
      make("text", { x: px + w / 2, y: y(py + l / 2), class: "label", "font-size": 1.1 * r }, mark).textContent = `C${index + 1}`;
    });
    form.querySelectorAll("[data-screw]").forEach((piece, index) => {
      const f = inputs(piece), px = mm(f.x.value), py = mm(f.y.value);
      piece.querySelector("summary").textContent = `Screw ${index + 1}: X ${f.x.value || "?"}, Y ${f.y.value || "?"}`;
      if (Number.isNaN(px) || Number.isNaN(py)) { return; }
      const head = mm(piece.querySelector("[name$=-head]").value) || HEAD;
      const mark = marked(piece, `S${index + 1}: screw at X ${f.x.value}, Y ${f.y.value}`);
      make("circle", { cx: px, cy: y(py), r: Math.max(head / 2, r), class: "grip" }, mark);
      make("circle", { cx: px, cy: y(py), r: head / 2, class: "screw" }, mark);
      make("text", { x: px, y: y(py) - Math.max(head / 2, r) - 0.3 * r, class: "label", "font-size": 1.1 * r }, mark).textContent = `S${index + 1}`;
    });
    const same = focused && [...plate.querySelectorAll(".mark")].find((mark) => mark.piece === focused);
    if (same) { same.focus(); }
  }

  function add(kind, px, py) {
    const row = document.createElement("div");
    row.innerHTML = document.getElementById(`${kind}-row`).innerHTML.replaceAll("__i__", String(next++ % 1000));
    const piece = row.firstElementChild;
    // the row's number in its names: the first that is free
    let index = 0;
    while (form.querySelector(`[name="${kind}-${index}-x"]`)) { index += 1; }
    for (const one of piece.querySelectorAll("[name], [for], [id]")) {
      for (const key of ["name", "for", "id"]) {
        if (one.hasAttribute(key)) { one.setAttribute(key, one.getAttribute(key).replace(/^(screw|clamp)-\d+-/, `${kind}-${index}-`)); }
      }
    }
    const f = inputs(piece);
    f.x.value = shown(px);
    f.y.value = shown(py);
    if (kind === "clamp") { f.width.value = shown(30); f.length.value = shown(20); }
    const others = form.querySelectorAll(`[data-${kind}]`);
    if (others.length) { copyKind(others[others.length - 1], piece, kind); }
    document.getElementById(`${kind}s`).append(piece);
    form.elements[`no_${kind}s`].checked = false;
    draw();
    note.textContent = `${piece.querySelector("summary").textContent}. Drag it, or change its numbers.`;
    return piece;
  }
  // a further screw is most often like the one before
  function copyKind(from, to, kind) {
    for (const name of kind === "screw" ? ["size", "depth", "head", "height", "placed"] : ["width", "length", "height", "placed"]) {
      to.querySelector(`[name$=-${name}]`).value = from.querySelector(`[name$=-${name}]`).value;
    }
  }

  const place = (event) => {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(plate.getScreenCTM().inverse());
    const snap = (value) => Math.round(value / SNAP) * SNAP;
    return { x: snap(at.x), y: snap(size().y - at.y) };
  };
  let held = null;
  plate.addEventListener("pointerdown", (event) => {
    const mark = event.target.closest(".mark");
    if (!mark) { return; }
    event.preventDefault();
    const f = inputs(mark.piece), at = place(event);
    held = { f, dx: mm(f.x.value) - at.x, dy: mm(f.y.value) - at.y, moved: false };
    plate.setPointerCapture(event.pointerId);
  });
  plate.addEventListener("pointermove", (event) => {
    if (!held) { return; }
    const at = place(event);
    held.moved = true;
    held.f.x.value = shown(at.x + held.dx);
    held.f.y.value = shown(at.y + held.dy);
    draw();
  });
  plate.addEventListener("pointerup", () => {
    if (held && held.moved) { note.textContent = `Moved to X ${held.f.x.value}, Y ${held.f.y.value}.`; }
    setTimeout(() => { held = null; }, 0);
  });
  plate.addEventListener("click", (event) => {
    if (held) { return; }
    const at = place(event), s = size(), mode = form.elements.tap.value;
    if (mode === "zero") {
      const distance = ([, [fx, fy]]) => Math.hypot(fx * s.x - at.x, fy * s.y - at.y);
      const [name] = Object.entries(CORNERS).sort((a, b) => distance(a) - distance(b))[0];
      form.querySelector(`[name=zero_xy][value="${name}"]`).checked = true;
      note.textContent = `Zero: ${name.replace("-", " ")}${name === "centre" ? "" : " corner"} of the plate.`;
      draw();
    } else if (!s.known) { note.textContent = "Width and length of the plate first."; form.elements.size_x.focus(); }
    else { add(mode, mode === "clamp" ? at.x - 15 : at.x, mode === "clamp" ? at.y - 10 : at.y); }
  });
  const KEYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
  plate.addEventListener("keydown", (event) => {
    const mark = event.target.closest(".mark"), way = KEYS[event.key];
    if (!mark) { return; }
    if (event.key === "Delete" || event.key === "Backspace") { event.preventDefault(); remove(mark.piece); return; }
    if (event.key === "Enter" || event.key === " ") { event.preventDefault(); mark.piece.open = true; mark.piece.querySelector("input").focus(); return; }
    if (!way) { return; }
    event.preventDefault();
    const f = inputs(mark.piece), step = event.shiftKey ? FINE : COARSE;
    f.x.value = shown(mm(f.x.value) + way[0] * step);
    f.y.value = shown(mm(f.y.value) + way[1] * step);
    changed = true;
    draw();
    note.textContent = `${mark.piece.querySelector("summary").textContent}.`;
  });
  function remove(piece) {
    const marks = [...plate.querySelectorAll(".mark")], at = marks.findIndex((mark) => mark.piece === piece);
    const drawn = plate.contains(document.activeElement);
    piece.remove();
    changed = true;
    draw();
    note.textContent = "Taken away.";
    const left = plate.querySelectorAll(".mark");
    (drawn && left.length ? left[Math.min(Math.max(at, 0), left.length - 1)] : document.getElementById("add-screw")).focus();
  }
  for (const kind of ["screw", "clamp"]) {
    document.getElementById(`add-${kind}`).addEventListener("click", () => { add(kind, 10, 10).querySelector("input").focus(); });
  }
  form.addEventListener("click", (event) => {
    const button = event.target.closest("[data-remove]");
    if (!button) { return; }
    remove(button.closest(".piece"));
  });
  form.addEventListener("input", draw);
  const hold = document.getElementById("f-hold");
  const holdFields = () => { for (const group of form.querySelectorAll("[data-hold]")) { group.hidden = group.dataset.hold !== hold.value; } };
  hold.addEventListener("change", holdFields);
  holdFields();
  form.addEventListener("input", () => { changed = true; });
  form.addEventListener("submit", () => { changed = false; });
  window.addEventListener("beforeunload", (event) => { if (changed) { event.preventDefault(); } });
  draw();
})();
