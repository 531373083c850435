  // ---- one moment: picture, section, strips and text ------------------------------------------------
  const slider = byId("moment"), ends = slider ? Number(slider.max) : 0, total = time ? time.total : 0;
  const moments = time ? new Float64Array(bytesOf(time.moments).buffer) : null;
  const places = time ? new Float32Array(bytesOf(time.places).buffer) : null;
  const lines = time ? new Int32Array(bytesOf(time.lines).buffer) : null;
  const tools = time ? new Int32Array(bytesOf(time.tools).buffer) : null;
  let now = total, nowAt = null, shownState = null;
  function keyAt(moment) { // first key that is not before a moment
    let low = 0, high = moments.length - 1;
    const reach = moment - 1e-9 * Math.max(1, total);
    while (low < high) { const middle = (low + high) >> 1; if (moments[middle] >= reach) high = middle; else low = middle + 1; }
    return low;
  }
  function stateAt(moment) { // where the tool is: between two keys it moves straight and evenly
    const k = keyAt(moment), j = Math.max(0, k - 1), took = moments[k] - moments[j];
    const share = took > 0 ? Math.min(1, Math.max(0, (moment - moments[j]) / took)) : 1;
    const tip = [0, 1, 2].map((i) => {
      const to = places[3 * k + i];
      return share >= 1 ? to : places[3 * j + i] + (to - places[3 * j + i]) * share;
    });
    return { key: k, tip: tip, line: lines[k], tool: tools[k] };
  }
  function show(moment, options) {
    if (!time) { drawRows(); return; }
    const given = options && options.at;
    now = Math.min(Math.max(moment, 0), total);
    nowAt = given || null;
    slider.value = String(total > 0 ? Math.round(now / total * ends) : 0);
    const state = stateAt(now), over = now >= total && !given;
    if (given) { state.line = given.line; state.tool = given.tool >= 0 ? given.tool : state.tool; if (given.tip) state.tip = given.tip; }
    shownState = state;
    readOut(state);
    drawTool(state, over);
    drawStock(state, over, options && options.plane);
    for (const element of all("[data-piece]")) {
      const free = data.loose ? data.loose[Number(element.dataset.piece)] : null;
      element.setAttribute("visibility", over || free === null || now >= free - 1e-9 ? "visible" : "hidden");
    }
    cursors(over);
    if (!(options && options.keepText) && byId("follow").checked) goTo(state.line, over);
    else drawRows();
  }
  function again() { show(now, { at: nowAt, keepText: true, plane: sectionY }); }
  function told(state, moment) {
    const when = time.unit === "s" ? clock(moment) + " of " + clock(total) : length(moment) + " of " + length(total) + " " + data.length.unit + " of way";
    return when + " · line " + state.line + " · X " + length(state.tip[0]) + " Y " + length(state.tip[1]) + " Z " + length(state.tip[2]) + (state.tool >= 0 ? " · T" + state.tool : "");
  }
  function readOut(state) {
    const text = told(state, now);
    byId("now").textContent = text;
    slider.setAttribute("aria-valuetext", text);
  }
  function drawTool(state, over) {
    const tool = byId("tool");
    if (!tool) return;
    const [x, y] = state.tip, known = !Number.isNaN(x) && !Number.isNaN(y);
    tool.setAttribute("visibility", known && !over ? "visible" : "hidden");
    byId("tail").setAttribute("d", "");
    if (!known) return;
    tool.setAttribute("transform", "translate(" + x.toFixed(3) + " " + (-y).toFixed(3) + ")");
    const cutter = cutterOf(state.tool);
    byId("tool-edge").setAttribute("r", String(cutter ? cutter[1] / 2 : home[2] / 150));
    if (over) return;
    let tail = "";
    for (let i = Math.max(0, state.key - 40); i < state.key; i += 1) {
      if (moments[i] < now - 0.02 * total && i < state.key - 1) continue;
      if (!Number.isNaN(places[3 * i]) && !Number.isNaN(places[3 * i + 1])) tail += (tail ? "L" : "M") + places[3 * i].toFixed(2) + " " + (-places[3 * i + 1]).toFixed(2);
    }
    byId("tail").setAttribute("d", tail ? tail + "L" + x.toFixed(2) + " " + (-y).toFixed(2) : "");
  }
  function drawStock(state, over, plane) {
    if (side) {
      const y = plane !== undefined && plane !== null ? plane : over ? sectionY : state.tip[1];
      if (!Number.isNaN(y)) sectionY = Math.min(Math.max(y, side.y_min), side.y_max);
      sectionHolds();
      sideTool(over ? null : state.tip, state.tool);
    }
    if (falls) {
      const wanted = over ? stock.frames : frameOf(now), changed = wanted !== shownFrame;
      stockAt(wanted);
      if (over) image.setAttribute("href", finished);
      else if (changed || image.getAttribute("href") === finished) paint();
      section();
      drawRelief();
    }
    if (side) {
      const off = state.tip[1] - sectionY, cutter = cutterOf(state.tool);
      const away = !over && cutter && Math.abs(off) > cutter[1] / 2 ? " The cutter, dashed, is " + length(Math.abs(off)) + " " + data.length.unit + (off > 0 ? " behind it." : " in front of it.") : "";
      byId("section-text").textContent = "Cut at Y " + length(sectionY) + " " + data.length.unit + (over ? ", after the last line." : ", in line " + state.line + ".") + away;
    }
  }

  // ---- strips ------------------------------------------------------------------------------------------
  const strips = all(".strip"), tip = byId("tip");
  function valueAt(values, moment) {
    const at = Math.min(values.high.length - 1, Math.floor(moment / total * values.high.length));
    const low = values.low[at], high = values.high[at];
    return high === null ? "none" : (low === high ? high : low + " to " + high) + " " + values.unit;
  }
  function cursors(over) {
    const share = total > 0 ? now / total : 0;
    for (let i = 0; i < strips.length; i += 1) {
      const cursor = strips[i].querySelector(".cursor");
      cursor.setAttribute("d", "M" + (900 * share).toFixed(2) + " 0V80");
      cursor.setAttribute("visibility", over ? "hidden" : "visible");
      strips[i].querySelector("output").textContent = over ? "" : "· here " + valueAt(data.strips[i], now);
    }
  }
  function say(event, text) { // values at the pointer
    tip.textContent = text;
    tip.hidden = !text;
    if (!text) return;
    const width = tip.offsetWidth, height = tip.offsetHeight;
    tip.style.left = Math.min(Math.max(4, event.clientX - width / 2), window.innerWidth - width - 4) + "px";
    tip.style.top = Math.max(4, event.clientY - height - 18) + "px";
  }
  function stripValues(moment) {
    const state = stateAt(moment);
    const named = ["depth", "force"].map((key) => data.strips.findIndex((s) => s.key === key)).filter((i) => i >= 0);
    return told(state, moment) + named.map((i) => " · " + data.strips[i].key + " " + valueAt(data.strips[i], moment)).join("");
  }
  function hold(element, start) { // a long press on touch
    let timer = null, at = null;
    const end = () => { clearTimeout(timer); timer = null; };
    element.addEventListener("pointerdown", (event) => {
      if (event.pointerType === "mouse") return;
      at = event;
      timer = setTimeout(() => start(at), 450);
    });
    element.addEventListener("pointermove", (event) => { if (timer && Math.hypot(event.clientX - at.clientX, event.clientY - at.clientY) > 8) end(); });
    for (const name of ["pointerup", "pointercancel", "pointerleave"]) element.addEventListener(name, () => { end(); say(null, ""); });
  }
  function pictureValues(event) {
    const [x, down] = place(event), y = -down, depth = depthAt(x, y), reach = 8 * pixel(top);
    let text = "X " + length(x) + " Y " + length(y) + (depth === null ? "" : " · stock " + length(depth) + " " + data.length.unit + " deep now");
    if (time) {
      let best = -1, least = reach;
      for (let i = 1; i < moments.length; i += 1) {
        const away = toSegment(x, y, places[3 * i - 3], places[3 * i - 2], places[3 * i], places[3 * i + 1]);
        if (away < least) { least = away; best = i; }
      }
      if (best >= 0) {
        text += " · line " + lines[best];
        for (const key of ["depth", "force"]) {
          const i = data.strips.findIndex((s) => s.key === key);
          if (i >= 0) text += " · " + key + " " + valueAt(data.strips[i], moments[best]);
        }
      }
    }
    say(event, text);
  }
  function toSegment(x, y, ax, ay, bx, by) {
    const dx = bx - ax, dy = by - ay, square = dx * dx + dy * dy;
    const share = square > 0 ? Math.min(1, Math.max(0, ((x - ax) * dx + (y - ay) * dy) / square)) : 0;
    return Math.hypot(x - ax - share * dx, y - ay - share * dy); // NaN where unknown: never the least
  }
  function startStrips() {
    for (const part of all(".axis span, .scale-label")) {
      if (part.dataset.share !== undefined) {
        const share = Number(part.dataset.share);
        part.style.left = 100 * share + "%";
        part.style.transform = "translateX(" + (share < 0.03 ? 0 : share > 0.95 ? -100 : -50) + "%)";
      } else {
        part.style.top = Math.min(58, Math.max(0, Number(part.dataset.y) - 7)) + "px";
      }
    }
    for (const strip of strips) {
      const svg = strip.querySelector("svg");
      const momentOf = (event) => {
        const box = svg.getBoundingClientRect();
        return Math.min(1, Math.max(0, (event.clientX - box.left) / box.width)) * total;
      };
      let dragging = false;
      svg.addEventListener("pointerdown", (event) => { dragging = true; svg.setPointerCapture(event.pointerId); stop(); show(momentOf(event)); });
      svg.addEventListener("pointermove", (event) => {
        if (dragging) show(momentOf(event));
        if (dragging || event.pointerType === "mouse") say(event, stripValues(momentOf(event)));
      });
      for (const name of ["pointerup", "pointercancel"]) svg.addEventListener(name, () => { dragging = false; say(null, ""); });
      svg.addEventListener("pointerleave", () => say(null, ""));
    }
    if (top) {
      top.addEventListener("pointermove", (event) => { if (event.pointerType === "mouse" && !event.buttons) pictureValues(event); });
      top.addEventListener("pointerleave", () => say(null, ""));
      hold(top, pictureValues);
    }
  }

  // ---- scrubbing and playing --------------------------------------------------------------------------
  let timer = null;
  const play = byId("play");
  function stop() {
    if (timer !== null) cancelAnimationFrame(timer);
    timer = null;
    if (play) { play.textContent = "play"; play.setAttribute("aria-pressed", "false"); }
  }
  function ratePerSecond() { // of the timeline's unit
    const wanted = byId("speed").value;
    return wanted.startsWith("x") ? Number(wanted.slice(1)) : total / Number(wanted);
  }
  function start() {
    const from = now >= total ? 0 : now;
    let before = null, at = from;
    play.textContent = "pause";
    play.setAttribute("aria-pressed", "true");
    const step = (stamp) => {
      if (before !== null) at += (stamp - before) / 1000 * ratePerSecond();
      before = stamp;
      show(at);
      if (at >= total) stop(); else timer = requestAnimationFrame(step);
    };
    timer = requestAnimationFrame(step);
  }
  function stepLine(way) { // to the end of the next or the line before
    let k = keyAt(now);
    const line = lines[k];
    if (way > 0) { while (k < lines.length - 1 && (lines[k] === line || moments[k] <= now)) k += 1; }
    else { while (k > 0 && (lines[k] === line || moments[k] >= now)) k -= 1; }
    stop();
    show(moments[k], { at: keyState(k) });
  }
  function keyState(k) {
    return { moment: moments[k], tip: [places[3 * k], places[3 * k + 1], places[3 * k + 2]], line: lines[k], tool: tools[k] };
  }
  function startTime() {
    if (!time || !slider) return;
    byId("scrub").hidden = false;
    slider.addEventListener("input", () => { stop(); show(total * Number(slider.value) / ends); });
    play.addEventListener("click", () => { if (timer !== null) stop(); else start(); });
    byId("line-before").addEventListener("click", () => stepLine(-1));
    byId("line-after").addEventListener("click", () => stepLine(1));
  }
