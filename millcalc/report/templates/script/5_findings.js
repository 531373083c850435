  // ---- signs in the picture: beside what they mark, none over another; near ones joined ----------------
  const signs = byId("signs"), leaders = byId("leaders");
  const shapes = { stop: "■", warning: "▲", note: "●" };
  let chosen = 0;
  function signSize() { return window.matchMedia("(pointer: coarse), (max-width: 700px)").matches ? 44 : 26; }
  function groupsOf(points, near) {
    const groups = [];
    for (const point of points) {
      const group = groups.find((g) => Math.hypot(g.x - point.x, g.y - point.y) < near);
      if (group) group.numbers.push(point.number); else groups.push({ x: point.x, y: point.y, numbers: [point.number] });
    }
    return groups;
  }
  function freeSpot(group, groups, placed, size, width, height) {
    let best = null, least = Infinity;
    for (let ring = 0; ring < 14; ring += 1) {
      const radius = size * (1 + ring * 0.45);
      for (let turn = 0; turn < 24; turn += 1) {
        const angle = -Math.PI / 4 + 2 * Math.PI * turn / 24;
        const x = group.x + radius * Math.cos(angle), y = group.y + radius * Math.sin(angle);
        if (x < size / 2 || y < size / 2 || x > width - size / 2 || y > height - size / 2) continue;
        let cost = radius * 0.3;
        for (const other of groups) { // never over what any of them marks
          const away = Math.max(Math.abs(other.x - x), Math.abs(other.y - y));
          if (away < size / 2 + 5) cost += 1000;
        }
        for (const other of placed) {
          const across = Math.max(0, size + 2 - Math.abs(other.x - x)), down = Math.max(0, size + 2 - Math.abs(other.y - y));
          cost += across * down > 0 ? 400 + across * down : 0;
        }
        if (cost < least) { least = cost; best = { x: x, y: y }; }
      }
      if (least < 400) break;
    }
    return best || { x: group.x, y: group.y };
  }
  function laySigns() {
    if (!signs || printing) return;
    const focused = document.activeElement && document.activeElement.dataset ? document.activeElement.dataset.first : null;
    const matrix = top.getScreenCTM(), box = frame.getBoundingClientRect();
    const width = frame.clientWidth, height = frame.clientHeight, size = signSize();
    if (!matrix || !width) return;
    const points = [];
    data.findings.forEach((finding, i) => {
      if (!finding.place || i >= 60) return;
      const at = new DOMPoint(finding.place[0], -finding.place[1]).matrixTransform(matrix);
      const x = at.x - box.left - frame.clientLeft, y = at.y - box.top - frame.clientTop;
      if (x >= 2 && y >= 2 && x <= width - 2 && y <= height - 2) points.push({ x: x, y: y, number: i + 1 });
    });
    points.sort((a, b) => (b.number === chosen) - (a.number === chosen)); // the chosen one's own place is marked
    const groups = groupsOf(points, size), placed = [];
    for (const group of groups) group.numbers.sort((a, b) => a - b);
    signs.replaceChildren();
    leaders.replaceChildren();
    leaders.setAttribute("viewBox", "0 0 " + width + " " + height);
    for (const group of groups) {
      const at = freeSpot(group, groups, placed, size, width, height), first = group.numbers[0], more = group.numbers.length - 1;
      placed.push(at);
      for (const kind of ["leader-halo", "leader"]) drawn("path", { class: kind, d: "M" + group.x.toFixed(1) + " " + group.y.toFixed(1) + "L" + at.x.toFixed(1) + " " + at.y.toFixed(1) }, leaders);
      drawn("circle", { class: "spot", cx: group.x.toFixed(1), cy: group.y.toFixed(1), r: "3.5" }, leaders);
      const button = document.createElement("button"), severity = data.findings[first - 1].severity;
      button.type = "button";
      button.className = "pin " + severity + (group.numbers.includes(chosen) ? " chosen" : "");
      button.dataset.first = String(first);
      button.dataset.numbers = group.numbers.join(" ");
      button.style.left = at.x + "px";
      button.style.top = at.y + "px";
      const mark = document.createElement("span");
      mark.textContent = first + (more ? "+" : "");
      button.append(mark);
      button.setAttribute("aria-label", mark.textContent + ": " + severity + (more ? ", findings " + group.numbers.join(", ") : ", finding " + first));
      button.addEventListener("click", () => openGroup(group.numbers, "picture"));
      signs.append(button);
      if (focused === String(first)) button.focus({ preventScroll: true });
    }
  }
  function openGroup(numbers, from) { choose(numbers.includes(chosen) ? chosen : numbers[0], { from: from, group: numbers }); }

  // ---- the panel: one finding, its program line, previous and next -----------------------------------------
  const panel = byId("panel"), order = all(".finding").map((entry) => Number(entry.dataset.number));
  function fillPanel(number, group) {
    const entry = byId("finding-" + number), body = byId("panel-body");
    panel.hidden = false;
    document.body.classList.add("choosing");
    body.replaceChildren();
    const parts = ["h3", ".fact", ".where", ".excerpt"].map((query) => entry.querySelector(query));
    const remedy = entry.querySelector(".do") || entry.closest(".card").querySelector(".do");
    for (const part of [...parts.slice(0, 2), remedy, ...parts.slice(2)]) {
      if (!part) continue;
      const copy = part.tagName === "H3" ? document.createElement("p") : part.cloneNode(true);
      if (part.tagName === "H3") { copy.className = "title"; for (const child of part.childNodes) copy.append(child.cloneNode(true)); }
      all("button", copy).forEach((button) => button.remove());
      body.append(copy);
    }
    if (!data.findings[number - 1].at) body.append(note("It belongs to no moment of the run: picture and strips show none."));
    const others = (group || []).filter((other) => other !== number);
    if (others.length) {
      const row = note("Also here: ");
      for (const other of others) {
        const button = document.createElement("button");
        button.type = "button";
        button.textContent = shapes[data.findings[other - 1].severity] + " " + other;
        button.setAttribute("aria-label", "finding " + other);
        button.addEventListener("click", () => choose(other, { from: "panel", group: group }));
        row.append(button, " ");
      }
      body.append(row);
    }
    byId("panel-count").textContent = order.indexOf(number) + 1 + " of " + order.length;
    body.scrollTop = 0;
  }
  function note(text) {
    const made = document.createElement("p");
    made.className = "fine";
    made.textContent = text;
    return made;
  }
  function closePanel(back) {
    panel.hidden = true;
    document.body.classList.remove("choosing");
    clearChoice();
    if (!back && history.state && history.state.finding) history.pushState({ finding: 0 }, "", "#verdict");
    if (top && home) look(...home);
  }
  function clearChoice() {
    chosen = 0;
    all(".chosen").forEach((element) => element.classList.remove("chosen"));
    const spot = byId("place");
    if (spot) spot.setAttribute("visibility", "hidden");
  }
  function choose(number, options) {
    const finding = data.findings[number - 1], entry = byId("finding-" + number);
    if (!finding || !entry) return;
    stop();
    clearChoice();
    chosen = number;
    entry.classList.add("chosen");
    fillPanel(number, options.group || samePlace(number));
    if (options.from !== "start" && options.from !== "back") history.pushState({ finding: number }, "", "#finding-" + number);
    const spot = byId("place");
    if (spot && finding.place) {
      spot.dataset.x = finding.place[0].toFixed(4);
      spot.dataset.y = (-finding.place[1]).toFixed(4);
      spot.setAttribute("visibility", "visible");
    }
    if (time) {
      if (finding.at) show(finding.at.moment, { at: finding.at, keepText: true, plane: finding.place ? finding.place[1] : null });
      else show(total, { keepText: true });
    }
    if (finding.line) goTo(finding.line); else goTo(0, true);
    if (top && home) {
      if (options.from === "start" || !finding.place) look(...home);
      else look(finding.place[0] - home[2] / 5, -finding.place[1] - home[3] / 5, home[2] / 2.5, home[3] / 2.5);
    }
    if (options.from === "picture" || options.from === "strip" || options.from === "panel") entry.scrollIntoView({ block: "nearest" });
  }
  function samePlace(number) {
    const here = data.findings[number - 1].place;
    if (!here) return [number];
    return data.findings.map((_, i) => i + 1).filter((k) => {
      const other = data.findings[k - 1].place;
      return other && byId("finding-" + k) && Math.hypot(other[0] - here[0], other[1] - here[1]) < 0.5;
    });
  }
  function step(way) {
    const at = order.indexOf(chosen);
    if (order.length) choose(order[(at + way + order.length) % order.length], { from: "panel" });
  }
  function startFindings() {
    for (const button of all("button.show")) {
      button.hidden = false;
      button.addEventListener("click", (event) => { event.stopPropagation(); choose(Number(button.closest("[data-number]").dataset.number), { from: "list" }); });
    }
    for (const entry of all(".finding")) {
      entry.addEventListener("click", (event) => {
        if (event.target.closest("a, button, summary, input") || String(window.getSelection())) return;
        event.stopPropagation();
        choose(Number(entry.dataset.number), { from: "list" });
      });
    }
    if (!panel) return;
    byId("previous").addEventListener("click", () => step(-1));
    byId("next").addEventListener("click", () => step(1));
    byId("panel-close").addEventListener("click", () => closePanel());
    window.addEventListener("popstate", (event) => {
      const number = event.state ? event.state.finding : order[0];
      if (number) choose(number, { from: "back" }); else closePanel(true);
    });
  }
  function startFlags() {
    const flags = byId("flags");
    if (!flags || !time) return;
    const lay = () => {
      const width = flags.clientWidth || 600, size = signSize() + 20, groups = [];
      data.findings.forEach((finding, i) => {
        if (!finding.at || i >= 60 || !byId("finding-" + (i + 1))) return;
        const x = (total > 0 ? finding.at.moment / total : 0) * width;
        const near = groups.find((group) => Math.abs(group.x - x) < size);
        if (near) near.numbers.push(i + 1); else groups.push({ x: x, numbers: [i + 1] });
      });
      flags.replaceChildren();
      for (const group of groups) { // findings are sorted worst first: the first of a group names it
        const first = group.numbers[0], severity = data.findings[first - 1].severity, more = group.numbers.length - 1;
        const button = document.createElement("button");
        button.type = "button";
        button.textContent = shapes[severity] + first + (more ? " +" + more : "");
        button.setAttribute("aria-label", button.textContent + ", at this moment: finding " + group.numbers.join(", ") + "; the worst is a " + severity);
        button.style.left = Math.min(Math.max(group.x, size / 2), width - size / 2) / width * 100 + "%";
        button.addEventListener("click", () => openGroup(group.numbers, "strip"));
        flags.append(button);
      }
    };
    lay();
    window.addEventListener("resize", lay);
  }
