  // ---- program text: only the rows in sight exist -------------------------------------------------
  const rowHeight = 20, code = byId("code"), text = data.text;
  const blocks = []; // {row, line, count, texts} or gaps with texts null
  let rowCount = 0, chosenLine = 0;
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
      const shown = document.createElement("span");
      shown.className = "code";
      shown.textContent = Array.from({ length: part.length }, (_, k) => "\\u" + part.charCodeAt(k).toString(16).padStart(4, "0")).join("");
      parent.append(shown);
    });
  }
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
  function timeOfLine(line) { // to the line's own place, or to the nearest line that has one, and say so
    const note = byId("line-note");
    note.textContent = "";
    if (line > text.lines || line < 1 || !Number.isInteger(line)) { note.textContent = "There is no line " + line + ": the program has " + text.lines + " lines."; return false; }
    if (!time) { note.textContent = "Nothing moves in this program."; return true; }
    let best = 0;
    for (let i = 0; i < lines.length; i += 1) {
      const off = Math.abs(lines[i] - line), least = Math.abs(lines[best] - line);
      if (off < least || off === least && i === best + 1 && lines[i] === lines[best]) best = i;
    }
    if (lines[best] !== line) note.textContent = time.whole ? "Line " + line + " moves nothing; the picture shows line " + lines[best] + "." : "The picture knows no moment of line " + line + "; it shows the nearest it knows, line " + lines[best] + ".";
    stop();
    show(moments[best], { at: keyState(best), keepText: true });
    return true;
  }
  function startText() {
    layRows();
    spacer.style.height = rowCount * rowHeight + "px";
    byId("text-note").textContent = (text.whole ? "All " + text.lines + " lines." : "The lines around the findings, the beginning and the end; the program has " + text.lines + " lines.") +
      (text.cut ? " " + text.cut + " long lines are cut short here." : "");
    byId("goto").hidden = false;
    code.addEventListener("scroll", drawRows, { passive: true });
    byId("line").addEventListener("change", (event) => { const line = Number(event.target.value); if (timeOfLine(line)) goTo(line); });
    code.addEventListener("click", (event) => {
      const row = event.target.closest(".row");
      if (row && row.dataset.line) { chosenLine = Number(row.dataset.line); timeOfLine(chosenLine); drawRows(); }
    });
  }
