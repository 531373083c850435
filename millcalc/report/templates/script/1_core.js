  const data = JSON.parse(document.getElementById("data").textContent);
  const byId = (id) => document.getElementById(id);
  const all = (query, root) => Array.from((root || document).querySelectorAll(query));
  const svgns = "http://www.w3.org/2000/svg";

  // ---- numbers ----------------------------------------------------------------------------------
  function bytesOf(text) {
    const raw = atob(text);
    const bytes = new Uint8Array(raw.length);
    for (let i = 0; i < raw.length; i += 1) bytes[i] = raw.charCodeAt(i);
    return bytes;
  }
  function length(mm) {
    return mm === null || Number.isNaN(mm) ? "unknown" : (mm * data.length.per_mm).toFixed(data.length.digits);
  }
  function clock(seconds) {
    const whole = Math.floor(seconds + 0.5);
    const pad = (n) => String(n).padStart(2, "0");
    const hours = Math.floor(whole / 3600), minutes = Math.floor((whole % 3600) / 60);
    return hours ? hours + ":" + pad(minutes) + ":" + pad(whole % 60) : minutes + ":" + pad(whole % 60);
  }
  function nice(most) { // the largest of 1, 2, 5 times a power of ten that is no longer
    const power = Math.pow(10, Math.floor(Math.log10(most)));
    for (const factor of [5, 2]) if (factor * power <= most * (1 + 1e-9)) return factor * power;
    return power;
  }
  function drawn(name, attributes, parent) {
    const element = document.createElementNS(svgns, name);
    for (const key of Object.keys(attributes)) element.setAttribute(key, attributes[key]);
    if (parent) parent.append(element);
    return element;
  }
  function fixedAt(x, y, scale, parent) { // a group whose content is in pixels of the screen
    const group = drawn("g", { class: "fixed", "data-x": x.toFixed(3), "data-y": y.toFixed(3) }, parent);
    group.setAttribute("transform", "translate(" + x.toFixed(3) + " " + y.toFixed(3) + ") scale(" + scale + ")");
    return group;
  }
  function label(group, text, attributes) {
    drawn("text", Object.assign({ class: "name" }, attributes), group).textContent = text;
  }

  // ---- enlarging and moving the top view ---------------------------------------------------------
  const top = byId("top"), frame = byId("top-frame");
  const home = data.box ? [data.box[0], -data.box[3], data.box[1] - data.box[0], data.box[3] - data.box[2]] : null;
  let view = home ? home.slice() : null, printing = false;
  function pixel(svg) { // drawing units of a pixel; on paper the drawing has a scale of its own
    if (printing && svg === top && data.paper) return data.paper.unit_mm;
    const box = svg.viewBox.baseVal;
    return Math.max(box.width / (svg.clientWidth || 1), box.height / (svg.clientHeight || 1));
  }
  function fixSizes(svg) {
    const scale = pixel(svg);
    for (const group of all(".fixed", svg)) {
      group.setAttribute("transform", "translate(" + group.dataset.x + " " + group.dataset.y + ") scale(" + scale + ")");
    }
  }
  function sizes() {
    if (top && home) { drawScale(); drawTicks(); }
    for (const svg of all(".view")) fixSizes(svg);
    if (top && home) laySigns();
  }
  function drawScale() { // a bar of a round length, in the drawing's own units
    const bar = byId("bar"), s = pixel(top), unit = 1 / data.length.per_mm;
    const round = nice(view[2] / 4 / unit), mm = round * unit;
    const x = view[0] + view[2] - mm - 14 * s, y = view[1] + view[3] - 26 * s;
    bar.dataset.mm = String(mm);
    bar.replaceChildren();
    drawn("path", { class: "bar-halo", d: "M" + x.toFixed(4) + " " + y.toFixed(4) + "h" + mm.toFixed(4) }, bar);
    drawn("path", { class: "bar-line", id: "bar-line", d: "M" + x.toFixed(4) + " " + y.toFixed(4) + "h" + mm.toFixed(4) }, bar);
    for (const end of [x, x + mm]) drawn("path", { class: "bar-end", d: "M0 -5V5" }, fixedAt(end, y, s, bar));
    label(fixedAt(x + mm / 2, y, s, bar), Number(round.toPrecision(3)) + " " + data.length.unit, { "text-anchor": "middle", y: "-6" });
  }
  function drawTicks() { // coordinates at the frame
    const group = byId("ticks"), s = pixel(top), unit = 1 / data.length.per_mm;
    const step = nice(view[2] / 4 / unit) * unit;
    group.replaceChildren();
    const text = (mm) => String(Number((mm * data.length.per_mm).toFixed(4)));
    for (let k = Math.ceil((view[0] + 30 * s) / step); k * step < view[0] + view[2] - 16 * s; k += 1) {
      const at = fixedAt(k * step, view[1] + view[3], s, group);
      drawn("path", { class: "tickline", d: "M0 0V-6" }, at);
      label(at, (k === 0 ? "X " : "") + text(k * step), { "text-anchor": "middle", y: "-8" });
    }
    for (let k = Math.ceil((-view[1] - view[3] + 24 * s) / step); k * step < -view[1] - 12 * s; k += 1) {
      const at = fixedAt(view[0], -k * step, s, group);
      drawn("path", { class: "tickline", d: "M0 0H6" }, at);
      label(at, (k === 0 ? "Y " : "") + text(k * step), { x: "8", y: "4" });
    }
  }
  function look(x, y, w, h) {
    const least = home[2] / 60;
    const k = Math.min(1, Math.max(w, least) / home[2]);
    view = [0, 0, home[2] * k, home[3] * k];
    view[0] = Math.min(Math.max(x + (w - view[2]) / 2, home[0]), home[0] + home[2] - view[2]);
    view[1] = Math.min(Math.max(y + (h - view[3]) / 2, home[1]), home[1] + home[3] - view[3]);
    top.setAttribute("viewBox", view.map((v) => v.toFixed(3)).join(" "));
    frame.classList.toggle("enlarged", k < 0.999);
    sizes();
  }
  function zoom(factor, atX, atY) {
    const x = atX === undefined ? view[0] + view[2] / 2 : atX, y = atY === undefined ? view[1] + view[3] / 2 : atY;
    const w = Math.min(view[2] / factor, home[2]), h = w * home[3] / home[2], share = w / view[2];
    look(x - (x - view[0]) * share, y - (y - view[1]) * share, w, h);
  }
  function pan(dx, dy) { look(view[0] + dx, view[1] + dy, view[2], view[3]); }
  function place(event) {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(top.getScreenCTM().inverse());
    return [at.x, at.y];
  }
  function moveByKeys(event) {
    if (event.target !== frame || event.ctrlKey || event.metaKey || event.altKey) return;
    const step = view[2] / 8;
    const moves = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] };
    if (event.key === "+" || event.key === "=") zoom(1.6);
    else if (event.key === "-") zoom(1 / 1.6);
    else if (event.key === "0") look(...home);
    else if (moves[event.key] && view[2] < home[2] * 0.999) pan(...moves[event.key]);
    else return;
    event.preventDefault();
  }
  function moveByFingers() {
    const fingers = new Map();
    top.addEventListener("pointerdown", (event) => {
      fingers.set(event.pointerId, place(event));
      if (view[2] < home[2] * 0.999) top.setPointerCapture(event.pointerId);
    });
    top.addEventListener("pointermove", (event) => {
      if (!fingers.has(event.pointerId) || view[2] >= home[2] * 0.999 && fingers.size < 2) return;
      const from = fingers.get(event.pointerId), to = place(event);
      if (fingers.size === 2) {
        const other = Array.from(fingers.entries()).find((entry) => entry[0] !== event.pointerId)[1];
        const before = Math.hypot(from[0] - other[0], from[1] - other[1]), after = Math.hypot(to[0] - other[0], to[1] - other[1]);
        if (before > 0 && after > 0) zoom(after / before, ...other);
      } else {
        pan(from[0] - to[0], from[1] - to[1]);
      }
      fingers.set(event.pointerId, place(event));
    });
    for (const name of ["pointerup", "pointercancel"]) top.addEventListener(name, (event) => fingers.delete(event.pointerId));
  }
  function startPicture() {
    if (!top || !home) return;
    byId("tools").hidden = false;
    byId("zoom-in").addEventListener("click", () => zoom(1.6));
    byId("zoom-out").addEventListener("click", () => zoom(1 / 1.6));
    byId("zoom-all").addEventListener("click", () => look(...home));
    frame.addEventListener("keydown", moveByKeys);
    top.addEventListener("wheel", (event) => {
      if (!event.ctrlKey && !event.metaKey) return; // plain wheel scrolls the page
      event.preventDefault();
      zoom(Math.exp(-event.deltaY / 300), ...place(event));
    }, { passive: false });
    moveByFingers();
    for (const box of all("#layers input")) {
      box.addEventListener("change", () => top.classList.toggle("no-" + box.value, !box.checked));
    }
  }
