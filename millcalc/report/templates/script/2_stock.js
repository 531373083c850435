  // ---- the stock at a moment ---------------------------------------------------------------------
  const time = data.time, stock = data.stock, side = data.side;
  const image = byId("stock"), finished = image ? image.getAttribute("href") : null;
  const ramp = stock ? Uint8Array.from(stock.ramp.match(/../g), (pair) => parseInt(pair, 16)) : null;
  const frameMoments = stock ? new Float64Array(bytesOf(stock.moments).buffer) : null;
  const EVERY = 24, keptFrames = new Map(); // frames that are kept whole, so that a step back is short
  let falls = null, levels = null, shownFrame = -1, canvas = null;
  async function unpack() {
    if (!stock || !image) return;
    if (typeof DecompressionStream === "undefined") {
      byId("stock-note").textContent = "This browser is too old to show the stock at earlier moments; it shows the finished stock.";
      return;
    }
    const stream = new Blob([bytesOf(stock.packed)]).stream().pipeThrough(new DecompressionStream("deflate"));
    falls = new Uint8Array(await new Response(stream).arrayBuffer());
    levels = new Uint8Array(stock.columns * stock.rows).fill(255);
    canvas = document.createElement("canvas");
    canvas.width = stock.columns;
    canvas.height = stock.rows;
    shownFrame = 0;
    byId("stock-note").textContent = "The stock at earlier moments is shown in cells of " + length(stock.cell) + " " +
      data.length.unit + ", at " + stock.frames + " moments; at a finding's moment it is exact.";
    again();
  }
  function frameOf(moment) { // frames that are done at a moment
    let low = 0, high = frameMoments.length;
    const reach = moment + 1e-9 * Math.max(1, time.total);
    while (low < high) { const middle = (low + high) >> 1; if (frameMoments[middle] <= reach) low = middle + 1; else high = middle; }
    return low;
  }
  function stockAt(wanted) { // wanted: 0 uncut .. frames finished
    const cells = stock.columns * stock.rows;
    const from = Math.floor(wanted / EVERY) * EVERY;
    if (wanted < shownFrame || from > shownFrame && keptFrames.has(from)) { // begin at the nearest frame that was kept
      let begin = from;
      while (begin > 0 && !keptFrames.has(begin)) begin -= EVERY;
      if (begin > 0) levels.set(keptFrames.get(begin)); else levels.fill(255);
      shownFrame = begin;
    }
    for (; shownFrame < wanted; shownFrame += 1) {
      if (shownFrame > 0 && shownFrame % EVERY === 0 && !keptFrames.has(shownFrame)) keptFrames.set(shownFrame, levels.slice());
      const fall = falls.subarray(shownFrame * cells, (shownFrame + 1) * cells);
      for (let i = 0; i < cells; i += 1) levels[i] -= fall[i];
    }
  }
  function paint() {
    const nx = stock.columns, ny = stock.rows, context = canvas.getContext("2d");
    const picture = context.createImageData(nx, ny), out = picture.data;
    for (let y = 0; y < ny; y += 1) {
      const row = y * nx, up = Math.min(y + 1, ny - 1) * nx, down = Math.max(y - 1, 0) * nx;
      let to = (ny - 1 - y) * nx * 4;
      for (let x = 0; x < nx; x += 1, to += 4) {
        const level = levels[row + x], right = x + 1 < nx ? x + 1 : x, left = x > 0 ? x - 1 : x;
        const slope = (levels[row + right] - levels[row + left] - levels[up + x] + levels[down + x]) / 255;
        const light = 1 + Math.max(-1, Math.min(1, slope)) * 0.22;
        out[to] = ramp[level * 3] * light;
        out[to + 1] = ramp[level * 3 + 1] * light;
        out[to + 2] = ramp[level * 3 + 2] * light;
        out[to + 3] = level === 0 ? 0 : 255;
      }
    }
    context.putImageData(picture, 0, 0);
    image.setAttribute("href", canvas.toDataURL());
  }
  function depthAt(x, y) { // how far the stock is cut down at a place now [mm]; null outside
    if (!falls) return null;
    const column = Math.floor((x - stock.x) / stock.cell), row = Math.floor((y - stock.y) / stock.cell);
    if (column < 0 || row < 0 || column >= stock.columns || row >= stock.rows) return null;
    return (stock.top - stock.floor) * (1 - levels[row * stock.columns + column] / 255);
  }

  // ---- the section -------------------------------------------------------------------------------
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
  function sectionHolds() { // what the plane meets, by its true chord; what stands behind it, dashed and named
    if (!side) return;
    const svg = byId("side"), group = byId("side-holds"), s = pixel(svg), z = (height) => -height * side.stretch;
    const named = [];
    group.replaceChildren();
    const box = (kind, x0, x1, from, to) => drawn("rect", { class: kind, x: x0.toFixed(3), width: (x1 - x0).toFixed(3),
      y: z(to).toFixed(3), height: (z(from) - z(to)).toFixed(3) }, group);
    for (const hold of side.holds) {
      const top_ = hold.top === null ? side.top + 4 : hold.top, low = Math.min(side.top, top_);
      let half = (hold.x1 - hold.x0) / 2, middle = (hold.x0 + hold.x1) / 2, met = sectionY >= hold.y0 && sectionY <= hold.y1;
      if (hold.round) {
        const off = sectionY - (hold.y0 + hold.y1) / 2, radius = half;
        met = Math.abs(off) < radius;
        half = met ? Math.sqrt(radius * radius - off * off) : radius;
        if (met && Math.abs(off) < hold.shank) {
          const shank = Math.sqrt(hold.shank * hold.shank - off * off);
          box("shank-line", middle - shank, middle + shank, side.bottom, side.top);
        }
      }
      const behind = hold.y0 > sectionY;
      if (!met && !behind) continue; // in front of the plane: cut away
      const drawnBox = box(met ? "head met" : "ghost", middle - half, middle + half, low, top_);
      drawnBox.dataset.hold = hold.name;
      named.push({ x: middle, y: z(top_), text: hold.name + (met ? "" : " (behind)"), met: met });
    }
    nameHolds(named, group, s);
    byId("plane").setAttribute("d", "M" + home[0] + " " + (-sectionY).toFixed(3) + "h" + home[2]);
    svg.dataset.y = String(sectionY);
  }
  function nameHolds(named, group, s) { // each name in the first row above its hold where it covers no other, none cut off
    const svg = byId("side"), left = svg.viewBox.baseVal.x, right = left + svg.viewBox.baseVal.width, rows = [];
    for (const name of named.sort((a, b) => b.met - a.met)) {
      const half = 3.4 * s * name.text.length + 4 * s, x = Math.min(Math.max(name.x, left + half), right - half);
      let row = 0;
      while (row < 3 && rows.some((r) => r.row === row && Math.abs(r.x - x) < r.half + half)) row += 1;
      if (row === 3) continue;
      rows.push({ row: row, x: x, half: half });
      label(fixedAt(x, name.y, s, group), name.text, { "text-anchor": "middle", y: String(-5 - 13 * row), class: name.met ? "name" : "name ghost-name" });
    }
  }
  function cutterOf(number) {
    return side && (side.cutters.find((c) => c[0] === number) || (side.cutters.length === 1 ? side.cutters[0] : null));
  }
  function sideTool(tip, number) {
    const found = cutterOf(number), target = byId("side-tool");
    if (!target) return;
    if (!found || !tip || Number.isNaN(tip[0]) || Number.isNaN(tip[2])) { target.setAttribute("d", ""); return; }
    const [, d, flute, shank, stickout, nut, nutLength, point] = found, s = side.stretch, x = tip[0];
    const y = (height) => (-(tip[2] + height) * s).toFixed(2);
    const box = (w, from, to) => "M" + (x - w / 2).toFixed(2) + " " + y(from) + "H" + (x + w / 2).toFixed(2) + "V" + y(to) + "H" + (x - w / 2).toFixed(2) + "Z";
    let path = "M" + x.toFixed(2) + " " + y(0) + (point ? "" : "H" + (x + d / 2).toFixed(2)) + "L" + (x + d / 2).toFixed(2) + " " + y(point) + "V" + y(flute) +
      "H" + (x - d / 2).toFixed(2) + "V" + y(point) + (point ? "" : "H" + x.toFixed(2)) + "Z";
    const out = stickout || flute * 1.3;
    if (out > flute) path += box(shank, flute, out);
    if (stickout && nut) path += box(nut, stickout, stickout + nutLength);
    target.setAttribute("d", path);
    target.dataset.x = String(x);
    target.classList.toggle("away", Math.abs(tip[1] - sectionY) > d / 2 + 0.01);
  }
