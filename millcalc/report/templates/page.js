"use strict";
(function () {
  const data = JSON.parse(document.getElementById("data").textContent);
  const byId = (id) => document.getElementById(id);
  const all = (query, root) => Array.from((root || document).querySelectorAll(query));
  const svgns = "http://www.w3.org/2000/svg";

  // ---- packed numbers -------------------------------------------------------------------------
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
    const whole = Math.round(seconds);
    const pad = (n) => String(n).padStart(2, "0");
    const hours = Math.floor(whole / 3600), minutes = Math.floor((whole % 3600) / 60);
    return hours ? hours + ":" + pad(minutes) + ":" + pad(whole % 60) : minutes + ":" + pad(whole % 60);
  }

  // ---- enlarging and moving the top view ------------------------------------------------------
  const top = byId("top"), frame = byId("top-frame");
  const home = data.box ? [data.box[0], -data.box[3], data.box[1] - data.box[0], data.box[3] - data.box[2]] : null;
  let view = home ? home.slice() : null;
  function fixSizes(svg) {
    const width = svg.clientWidth || 1, box = svg.viewBox.baseVal;
    const scale = Math.max(box.width / width, box.height / (svg.clientHeight || 1)) * (width < 500 ? 0.66 : 1);
    for (const group of all(".fixed", svg)) {
      group.setAttribute("transform", "translate(" + group.dataset.x + " " + group.dataset.y + ") scale(" + scale + ")");
    }
  }
  function sizes() {
    for (const svg of all(".view")) fixSizes(svg);
    const bar = top && top.querySelector(".bar");
    if (bar) bar.setAttribute("visibility", view[2] < home[2] * 0.999 ? "hidden" : "visible");
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
    const k = 1 / factor;
    const w = Math.min(view[2] * k, home[2]), h = w * home[3] / home[2], share = w / view[2];
    look(x - (x - view[0]) * share, y - (y - view[1]) * share, w, h);
  }
  function pan(dx, dy) { look(view[0] + dx, view[1] + dy, view[2], view[3]); }
  function place(event) {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(top.getScreenCTM().inverse());
    return [at.x, at.y];
  }
  if (top) {
    all(".zoom").forEach((box) => { box.hidden = false; });
    byId("zoom-in").addEventListener("click", () => zoom(1.6));
    byId("zoom-out").addEventListener("click", () => zoom(1 / 1.6));
    byId("zoom-all").addEventListener("click", () => look(...home));
    frame.addEventListener("keydown", (event) => {
      if (event.target !== frame || event.ctrlKey || event.metaKey || event.altKey) return;
      const step = view[2] / 8;
      const moves = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] };
      if (event.key === "+" || event.key === "=") zoom(1.6);
      else if (event.key === "-") zoom(1 / 1.6);
      else if (event.key === "0") look(...home);
      else if (moves[event.key] && view[2] < home[2] * 0.999) pan(...moves[event.key]);
      else return;
      event.preventDefault();
    });
    top.addEventListener("wheel", (event) => {
      if (!event.ctrlKey && !event.metaKey) return; // plain wheel scrolls the page
      event.preventDefault();
      zoom(Math.exp(-event.deltaY / 300), ...place(event));
    }, { passive: false });
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
  window.addEventListener("resize", sizes);
  sizes();

  // ---- the stock at a moment ------------------------------------------------------------------
  const time = data.time, stock = data.stock;
  const image = byId("stock"), finished = image ? image.getAttribute("href") : null;
  let falls = null, levels = null, shownFrame = -1, canvas = null;
  async function unpack() {
    if (!stock || !image) return;
    if (typeof DecompressionStream === "undefined") {
      byId("stock-note").textContent = "This browser is too old to show the stock at earlier moments; it shows the finished stock.";
      return;
    }
    const stream = new Blob([bytesOf(stock.packed)]).stream().pipeThrough(new DecompressionStream("deflate"));
    falls = new Uint8Array(await new Response(stream).arrayBuffer());
    const cells = stock.columns * stock.rows;
    levels = new Uint8Array(cells).fill(255);
    canvas = document.createElement("canvas");
    canvas.width = stock.columns;
    canvas.height = stock.rows;
    shownFrame = 0;
    byId("stock-note").textContent = "The stock at earlier moments is shown in cells of " + length(stock.cell) + " " +
      data.length.unit + ", " + stock.frames + " moments long.";
    if (time) show(now);
  }
  function stockAt(wanted) { // wanted: 0 uncut .. frames finished
    const cells = stock.columns * stock.rows;
    if (wanted < shownFrame) { levels.fill(255); shownFrame = 0; }
    for (; shownFrame < wanted; shownFrame += 1) {
      const base = shownFrame * cells;
      for (let i = 0; i < cells; i += 1) levels[i] -= falls[base + i];
    }
  }
  function paint() {
    const nx = stock.columns, ny = stock.rows, context = canvas.getContext("2d");
    const picture = context.createImageData(nx, ny), out = picture.data;
    const at = (x, y) => levels[Math.min(Math.max(y, 0), ny - 1) * nx + Math.min(Math.max(x, 0), nx - 1)];
    for (let y = 0; y < ny; y += 1) {
      for (let x = 0; x < nx; x += 1) {
        const level = levels[y * nx + x], to = ((ny - 1 - y) * nx + x) * 4;
        const slope = (at(x + 1, y) - at(x - 1, y) - at(x, y + 1) + at(x, y - 1)) / 255;
        const light = 1 + Math.max(-1, Math.min(1, slope)) * 0.22;
        for (let k = 0; k < 3; k += 1) out[to + k] = ramp[level * 3 + k] * light;
        out[to + 3] = level === 0 ? 0 : 255;
      }
    }
    context.putImageData(picture, 0, 0);
    image.setAttribute("href", canvas.toDataURL());
  }
  const ramp = stock ? Uint8Array.from(stock.ramp.match(/../g), (pair) => parseInt(pair, 16)) : null;

  // ---- the side view --------------------------------------------------------------------------
  const side = data.side;
  let sectionY = side ? side.y : 0;
  function section() {
    if (!side || !falls) return;
    const nx = stock.columns, stretch = side.stretch;
    const row = Math.min(Math.max(Math.floor((sectionY - stock.y) / stock.cell), 0), stock.rows - 1);
    const bottom = -stock.floor * stretch, height = (stock.top - stock.floor) * stretch;
    let path = "", open = false, last = -1;
    for (let i = 0; i < nx; i += 1) {
      const level = levels[row * nx + i];
      if (level === last) continue;
      const x = (stock.x + i * stock.cell).toFixed(2), y = (bottom - height * level / 255).toFixed(2);
      if (level === 0) { if (open) path += "H" + x + "V" + bottom + "Z"; open = false; }
      else if (open) path += "H" + x + "V" + y;
      else { path += "M" + x + " " + bottom + "V" + y; open = true; }
      last = level;
    }
    if (open) path += "H" + (stock.x + nx * stock.cell).toFixed(2) + "V" + bottom + "Z";
    byId("section").setAttribute("d", path);
  }
  function sideTool(x, z, number) {
    const found = side && (side.cutters.find((c) => c[0] === number) || (side.cutters.length === 1 ? side.cutters[0] : null));
    const target = byId("side-tool");
    if (!target) return;
    if (!found || Number.isNaN(x) || Number.isNaN(z)) { target.setAttribute("d", ""); return; }
    const [, d, flute, shank, stickout, nut, nutLength, point] = found, s = side.stretch;
    const y = (height) => (-(z + height) * s).toFixed(2);
    const box = (w, from, to) => "M" + (x - w / 2).toFixed(2) + " " + y(from) + "H" + (x + w / 2).toFixed(2) + "V" + y(to) + "H" + (x - w / 2).toFixed(2) + "Z";
    let path = "M" + x.toFixed(2) + " " + y(0) + (point ? "" : "H" + (x + d / 2).toFixed(2)) + "L" + (x + d / 2).toFixed(2) + " " + y(point) + "V" + y(flute) +
      "H" + (x - d / 2).toFixed(2) + "V" + y(point) + (point ? "" : "H" + x.toFixed(2)) + "Z";
    const out = stickout || flute * 1.3;
    if (out > flute) path += box(shank, flute, out);
    if (stickout && nut) path += box(nut, stickout, stickout + nutLength);
    target.setAttribute("d", path);
  }

  // ---- one moment -----------------------------------------------------------------------------
  const last = time ? time.count - 1 : 0;
  let places = null, lines = null, tools = null, now = last;
  const slider = byId("moment");
  function radiusOf(number) {
    const found = side && (side.cutters.find((c) => c[0] === number) || (side.cutters.length === 1 ? side.cutters[0] : null));
    return found ? found[1] / 2 : null;
  }
  function show(index, options) {
    now = Math.min(Math.max(Math.round(index), 0), last);
    slider.value = String(now);
    const moment = time.total * now / last;
    const x = places[3 * now], y = places[3 * now + 1], z = places[3 * now + 2];
    const known = !Number.isNaN(x) && !Number.isNaN(y);
    const when = time.unit === "s" ? clock(moment) + " of " + clock(time.total) : length(moment) + " of " + length(time.total) + " " + data.length.unit + " of way";
    const text = when + " · line " + lines[now] + " · X " + length(x) + " Y " + length(y) + " Z " + length(z) + (tools[now] >= 0 ? " · T" + tools[now] : "");
    byId("now").textContent = text;
    slider.setAttribute("aria-valuetext", text);
    const tool = byId("tool");
    tool.setAttribute("visibility", known ? "visible" : "hidden");
    if (known) {
      tool.setAttribute("transform", "translate(" + x.toFixed(3) + " " + (-y).toFixed(3) + ")");
      byId("tool-edge").setAttribute("r", String(radiusOf(tools[now]) || home[2] / 150));
      let tail = "";
      for (let i = Math.max(0, now - 60); i <= now; i += 1) {
        if (!Number.isNaN(places[3 * i]) && !Number.isNaN(places[3 * i + 1])) tail += (tail ? "L" : "M") + places[3 * i].toFixed(2) + " " + (-places[3 * i + 1]).toFixed(2);
      }
      byId("tail").setAttribute("d", now === last ? "" : tail);
      if (now === last) tool.setAttribute("visibility", "hidden");
    }
    if (falls) {
      const wanted = Math.floor(now / last * stock.frames + 1e-9);
      const changed = wanted !== shownFrame;
      stockAt(wanted);
      if (now === last) image.setAttribute("href", finished);
      else if (changed || image.getAttribute("href") === finished) paint();
      if (side) {
        if (known && now !== last && y > stock.y && y < stock.y + stock.rows * stock.cell) sectionY = y;
        section();
        sideTool(now === last ? NaN : x, z, tools[now]);
        byId("section-text").textContent = "At Y " + length(sectionY) + " " + data.length.unit + (now === last ? ", after the last line." : ", in line " + lines[now] + ".");
      }
    }
    for (const element of all("[data-piece]")) {
      const free = data.loose[Number(element.dataset.piece)];
      element.setAttribute("visibility", now === last || free === null || moment >= free ? "visible" : "hidden");
    }
    cursors();
    if (!(options && options.keepText) && byId("follow").checked) goTo(lines[now], now === last);
    else drawRows();
  }
  const strips = all(".strip");
  function cursors() {
    for (let i = 0; i < strips.length; i += 1) {
      const values = data.strips[i], cursor = strips[i].querySelector(".cursor"), output = strips[i].querySelector("output");
      const share = now / last, at = Math.min(values.high.length - 1, Math.floor(share * values.high.length));
      cursor.setAttribute("d", "M" + (900 * share).toFixed(2) + " 0V80");
      cursor.setAttribute("visibility", now === last ? "hidden" : "visible");
      const low = values.low[at], high = values.high[at];
      output.textContent = now === last ? "" : high === null ? "· here none" : "· here " + (low === high ? high : low + " to " + high) + " " + values.unit;
    }
  }
  function indexOf(moment) { return time.total > 0 ? Math.ceil(moment / time.total * last + 0.02) : 0; }

  // ---- program text: only the rows in sight exist --------------------------------------------
  const rowHeight = 20, code = byId("code"), text = data.text;
  const blocks = []; // {row, line, count, texts} or gaps with texts null
  let rowCount = 0;
  function layRows() {
    let next = 1;
    const gap = (from, to) => { blocks.push({ row: rowCount, line: from, count: 1, texts: null, to: to }); rowCount += 1; };
    for (const part of text.parts) {
      if (part.from > next) gap(next, part.from - 1);
      blocks.push({ row: rowCount, line: part.from, count: part.texts.length, texts: part.texts });
      rowCount += part.texts.length;
      next = part.from + part.texts.length;
    }
    if (next <= text.lines) gap(next, text.lines);
  }
  const marks = new Map();
  for (const finding of data.findings) {
    for (const [line, from, to] of finding.marks) {
      if (!marks.has(line)) marks.set(line, []);
      if (to > from) marks.get(line).push([from, to]);
    }
  }
  function blockAt(row) {
    let low = 0, high = blocks.length - 1;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (blocks[middle].row <= row) low = middle; else high = middle - 1;
    }
    return blocks[low];
  }
  function rowOf(line) {
    let best = 0;
    for (const block of blocks) {
      if (block.line > line) break;
      best = block.texts ? block.row + Math.min(line - block.line, block.count - 1) : block.row;
    }
    return best;
  }
  // what a browser would obey instead of show (categories Cc, Cf, Cs, Zl, Zp but the tab) stands as its code
  const obeyed = /((?!\t)[\p{Cc}\p{Cf}\p{Cs}\p{Zl}\p{Zp}])/u;
  function addText(parent, content) {
    content.split(obeyed).forEach((part, i) => {
      if (i % 2 === 0) { parent.append(part); return; }
      const code = document.createElement("span");
      code.className = "code";
      code.textContent = Array.from({ length: part.length }, (_, k) => "\\u" + part.charCodeAt(k).toString(16).padStart(4, "0")).join("");
      parent.append(code);
    });
  }
  let chosenLine = 0;
  const spacer = document.createElement("div");
  function makeRow(row) {
    const block = blockAt(row), element = document.createElement("div");
    element.className = "row";
    element.style.top = row * rowHeight + "px";
    if (!block.texts) {
      element.classList.add("gap");
      element.textContent = block.line === block.to ? "line " + block.line + " is not in this report" : "lines " + block.line + " to " + block.to + " are not in this report";
      return element;
    }
    const line = block.line + row - block.row, content = block.texts[row - block.row];
    const number = document.createElement("span");
    number.className = "no";
    number.textContent = String(line);
    element.append(number);
    let done = 0;
    for (const [from, to] of (marks.get(line) || []).slice().sort((a, b) => a[0] - b[0])) {
      if (from < done) continue;
      addText(element, content.slice(done, from));
      const mark = document.createElement("mark");
      addText(mark, content.slice(from, to));
      element.append(mark);
      done = to;
    }
    addText(element, content.slice(done));
    if (marks.has(line)) element.classList.add("marked");
    if (line === chosenLine) element.classList.add("here");
    element.dataset.line = String(line);
    return element;
  }
  function drawRows() {
    const first = Math.max(0, Math.floor(code.scrollTop / rowHeight) - 10);
    const end = Math.min(rowCount, first + Math.ceil(code.clientHeight / rowHeight) + 20);
    const rows = [spacer];
    for (let row = first; row < end; row += 1) rows.push(makeRow(row));
    code.replaceChildren(...rows);
  }
  function goTo(line, quiet) {
    chosenLine = quiet ? 0 : line;
    if (!quiet) {
      const y = rowOf(line) * rowHeight;
      if (y < code.scrollTop + 40 || y > code.scrollTop + code.clientHeight - 60) code.scrollTop = y - code.clientHeight / 3;
    }
    drawRows();
  }
  layRows();
  spacer.style.height = rowCount * rowHeight + "px";
  byId("text-note").textContent = (text.whole ? "All " + text.lines + " lines." : "The lines around the findings, the beginning and the end; the program has " + text.lines + " lines.") +
    (text.cut ? " " + text.cut + " long lines are cut short here." : "");
  byId("goto").hidden = false;
  code.addEventListener("scroll", drawRows, { passive: true });
  byId("line").addEventListener("change", (event) => { const line = Number(event.target.value); if (line >= 1) { goTo(line); timeOfLine(line); } });
  code.addEventListener("click", (event) => {
    const row = event.target.closest(".row");
    if (row && row.dataset.line) { chosenLine = Number(row.dataset.line); timeOfLine(chosenLine); drawRows(); }
  });
  function timeOfLine(line) {
    if (!lines) return;
    let best = -1;
    for (let i = 0; i <= last; i += 1) if (lines[i] === line) { best = i; break; }
    if (best >= 0) { stop(); show(best, { keepText: true }); }
  }

  // ---- findings -------------------------------------------------------------------------------
  function choose(number, from) {
    const finding = data.findings[number - 1];
    all(".chosen").forEach((element) => element.classList.remove("chosen"));
    const entry = byId("finding-" + number);
    if (entry) entry.classList.add("chosen");
    for (const mark of all('.mark[data-number="' + number + '"]')) mark.classList.add("chosen");
    if (finding.moment !== null && time) { stop(); show(indexOf(finding.moment), { keepText: true }); }
    if (finding.line) goTo(finding.line);
    if (finding.place && top && view[2] < home[2] * 0.999) look(finding.place[0] - view[2] / 2, -finding.place[1] - view[3] / 2, view[2], view[3]);
    const target = from === "list" ? frame : entry;
    if (target) {
      const box = target.getBoundingClientRect();
      if (box.bottom < 60 || box.top > window.innerHeight - 60 || from !== "list") target.scrollIntoView({ block: "nearest" });
    }
  }
  for (const button of all("button.show")) {
    button.hidden = false;
    button.addEventListener("click", () => choose(Number(button.closest("[data-number]").dataset.number), "list"));
  }
  for (const mark of all(".mark")) mark.addEventListener("click", () => choose(Number(mark.dataset.number), "picture"));

  // ---- strips ---------------------------------------------------------------------------------
  for (const tick of all(".axis span")) {
    const share = Number(tick.dataset.share);
    tick.style.left = 100 * share + "%";
    tick.style.transform = "translateX(" + (share < 0.03 ? 0 : share > 0.95 ? -100 : -50) + "%)";
  }
  const flags = byId("flags");
  if (flags && time) {
    const width = () => flags.clientWidth || 600;
    const groups = [];
    data.findings.forEach((finding, i) => {
      if (finding.moment === null || i >= 60) return;
      const x = (time.total > 0 ? finding.moment / time.total : 0) * width();
      const near = groups.find((group) => Math.abs(group.x - x) < 62);
      if (near) near.numbers.push(i + 1); else groups.push({ x: x, numbers: [i + 1] });
    });
    for (const group of groups) { // findings are sorted worst first: the first of a group names it
      const first = group.numbers[0], severity = data.findings[first - 1].severity, more = group.numbers.length - 1;
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = { stop: "■", warning: "▲", note: "●" }[severity] + first + (more ? " +" + more : "");
      button.setAttribute("aria-label", button.textContent + ", at this moment: finding " + group.numbers.join(", ") + "; the worst is a " + severity);
      button.style.left = Math.min(Math.max(group.x, 26), width() - 26) / width() * 100 + "%";
      button.addEventListener("click", () => choose(first, "strip"));
      flags.append(button);
    }
    flags.style.height = groups.length ? "30px" : "0";
  }
  for (const strip of strips) {
    const svg = strip.querySelector("svg");
    svg.addEventListener("click", (event) => {
      const box = svg.getBoundingClientRect();
      stop();
      show((event.clientX - box.left) / box.width * last);
    });
  }

  // ---- scrubbing and playing ------------------------------------------------------------------
  let timer = null;
  const play = byId("play");
  function stop() {
    if (timer !== null) cancelAnimationFrame(timer);
    timer = null;
    if (play) { play.textContent = "play"; play.setAttribute("aria-pressed", "false"); }
  }
  if (time && slider) {
    places = new Float32Array(bytesOf(time.places).buffer);
    lines = new Int32Array(bytesOf(time.lines).buffer);
    tools = new Int32Array(bytesOf(time.tools).buffer);
    slider.max = String(last);
    byId("scrub").hidden = false;
    slider.addEventListener("input", () => { stop(); show(Number(slider.value)); });
    play.addEventListener("click", () => {
      if (timer !== null) { stop(); return; }
      let begin = null, from = now >= last ? 0 : now;
      play.textContent = "pause";
      play.setAttribute("aria-pressed", "true");
      const step = (at) => {
        if (begin === null) begin = at;
        const index = from + (at - begin) / 25000 * last; // the whole program in 25 s
        show(index);
        if (index >= last) stop(); else timer = requestAnimationFrame(step);
      };
      timer = requestAnimationFrame(step);
    });
    show(last);
    unpack();
  } else {
    drawRows();
  }
  // paper cannot be unfolded
  window.addEventListener("beforeprint", () => all("details").forEach((part) => { part.open = true; }));
  document.documentElement.dataset.ready = "yes";
})();
