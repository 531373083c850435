  // ---- the plate in relief: the heights of the moment as a surface, turned by finger, mouse or arrow keys --------
  const relief = byId("relief"), solid = byId("solid");
  const turn = { round: -0.5, tilt: 0.85, near: 1 };
  let gl = null, drawing = null, reliefFrame = -2;
  const VERTEX = `#version 300 es
    in vec2 at; in float level; uniform mat4 view; uniform vec3 size; out vec3 where; out float depth;
    void main() { where = vec3(at * size.xy, level * size.z); depth = level; gl_Position = view * vec4(where, 1.0); }`;
  const FRAGMENT = `#version 300 es
    precision highp float; in vec3 where; in float depth; out vec4 colour; uniform vec3 high, low, board;
    void main() {
      vec3 normal = normalize(cross(dFdx(where), dFdy(where)));
      float light = 0.5 + 0.55 * max(0.0, dot(normal * sign(normal.z + 1e-6), normalize(vec3(-0.4, 0.5, 0.8))));
      colour = vec4((depth < 0.003 ? board : mix(low, high, depth)) * light, 1.0); }`;
  function compiled(kind, source) {
    const shader = gl.createShader(kind);
    gl.shaderSource(shader, source);
    gl.compileShader(shader);
    return shader;
  }
  function surface() { // cells of the stock, and a rim down to its floor
    const nx = stock.columns + 2, ny = stock.rows + 2, at = new Float32Array(2 * nx * ny), index = new Uint32Array(6 * (nx - 1) * (ny - 1));
    const inside = (k, n) => Math.min(Math.max(k - 0.5, 0), n) / n - 0.5;
    for (let j = 0; j < ny; j += 1) for (let i = 0; i < nx; i += 1) {
      at[2 * (j * nx + i)] = inside(i, stock.columns);
      at[2 * (j * nx + i) + 1] = inside(j, stock.rows);
    }
    let k = 0;
    for (let j = 0; j + 1 < ny; j += 1) for (let i = 0; i + 1 < nx; i += 1) {
      const a = j * nx + i;
      index.set([a, a + 1, a + nx, a + 1, a + nx + 1, a + nx], k);
      k += 6;
    }
    return { nx: nx, ny: ny, at: at, index: index };
  }
  function startRelief() {
    if (!relief || !stock) return;
    gl = solid.getContext("webgl2", { antialias: true, preserveDrawingBuffer: true });
    if (!gl) return;
    relief.hidden = false;
    const program = gl.createProgram(), mesh = surface();
    gl.attachShader(program, compiled(gl.VERTEX_SHADER, VERTEX));
    gl.attachShader(program, compiled(gl.FRAGMENT_SHADER, FRAGMENT));
    gl.linkProgram(program);
    if (!gl.getProgramParameter(program, gl.LINK_STATUS)) { relief.hidden = true; gl = null; return; }
    gl.useProgram(program);
    const buffer = (target, values, name, size, kind, norm) => {
      const made = gl.createBuffer();
      gl.bindBuffer(target, made);
      gl.bufferData(target, values, gl.DYNAMIC_DRAW);
      if (!name) return made;
      const place = gl.getAttribLocation(program, name);
      gl.enableVertexAttribArray(place);
      gl.vertexAttribPointer(place, size, kind, norm, 0, 0);
      return made;
    };
    buffer(gl.ARRAY_BUFFER, mesh.at, "at", 2, gl.FLOAT, false);
    const heights = buffer(gl.ARRAY_BUFFER, new Uint8Array(mesh.nx * mesh.ny), "level", 1, gl.UNSIGNED_BYTE, true);
    buffer(gl.ELEMENT_ARRAY_BUFFER, mesh.index);
    const width = stock.columns * stock.cell, depth = stock.rows * stock.cell, thick = stock.top - stock.floor;
    const most = Math.max(width, depth), stretch = Math.max(1, 0.09 * most / thick);
    drawing = { program: program, mesh: mesh, heights: heights, size: [width / most, depth / most, thick * stretch / most], stretch: stretch };
    const set = (name, rgb) => gl.uniform3f(gl.getUniformLocation(program, name), ...rgb.map((v) => v / 255));
    set("high", [233, 230, 222]); set("low", [62, 74, 92]); set("board", [200, 164, 100]);
    gl.uniform3f(gl.getUniformLocation(program, "size"), ...drawing.size);
    gl.enable(gl.DEPTH_TEST);
    byId("relief-note").textContent = (stretch > 1.001 ? "Heights are drawn " + stretch.toPrecision(2) + " times as large as lengths. " : "") + "Drag to turn it, pinch or plus and minus to come nearer. Brown: cut through to the board.";
    relief.addEventListener("toggle", drawRelief);
    turnBy();
  }
  function turnBy() {
    const fingers = new Map();
    solid.addEventListener("pointerdown", (event) => { fingers.set(event.pointerId, event); solid.setPointerCapture(event.pointerId); });
    solid.addEventListener("pointermove", (event) => {
      const before = fingers.get(event.pointerId);
      if (!before) return;
      if (fingers.size === 2) {
        const other = Array.from(fingers.values()).find((f) => f.pointerId !== event.pointerId);
        const was = Math.hypot(before.clientX - other.clientX, before.clientY - other.clientY), is = Math.hypot(event.clientX - other.clientX, event.clientY - other.clientY);
        if (was > 0) turn.near = Math.min(4, Math.max(0.6, turn.near * is / was));
      } else {
        turn.round += (event.clientX - before.clientX) / 150;
        turn.tilt = Math.min(1.5, Math.max(0.1, turn.tilt + (event.clientY - before.clientY) / 200));
      }
      fingers.set(event.pointerId, event);
      drawRelief();
    });
    for (const name of ["pointerup", "pointercancel"]) solid.addEventListener(name, (event) => fingers.delete(event.pointerId));
    solid.addEventListener("keydown", (event) => {
      const moves = { ArrowLeft: ["round", -0.15], ArrowRight: ["round", 0.15], ArrowUp: ["tilt", -0.1], ArrowDown: ["tilt", 0.1], "+": ["near", 0.2], "-": ["near", -0.2] };
      const move = moves[event.key];
      if (!move) return;
      turn[move[0]] += move[1];
      turn.tilt = Math.min(1.5, Math.max(0.1, turn.tilt));
      turn.near = Math.min(4, Math.max(0.6, turn.near));
      event.preventDefault();
      drawRelief();
    });
  }
  function viewMatrix(aspect) { // seen from afar: turned about the upright axis, then tilted; column by column
    const c = Math.cos(turn.round), s = Math.sin(turn.round), ct = Math.cos(turn.tilt), st = Math.sin(turn.tilt), k = 1.9 * turn.near;
    const kx = aspect > 1 ? k / aspect : k, ky = aspect > 1 ? k : k * aspect;
    return [kx * c, ky * s * st, s * ct * 0.4, 0, -kx * s, ky * c * st, c * ct * 0.4, 0, 0, ky * ct, -st * 0.4, 0, 0, 0, 0, 1];
  }
  function drawRelief() {
    if (!gl || !drawing || !relief.open || !levels) return;
    const ratio = Math.min(2, window.devicePixelRatio || 1), w = Math.round(solid.clientWidth * ratio), h = Math.round(solid.clientHeight * ratio);
    if (!w || !h) return;
    if (solid.width !== w || solid.height !== h) { solid.width = w; solid.height = h; }
    if (reliefFrame !== shownFrame) {
      const { nx, ny } = drawing.mesh, values = new Uint8Array(nx * ny);
      for (let j = 0; j < stock.rows; j += 1) values.set(levels.subarray(j * stock.columns, (j + 1) * stock.columns), (j + 1) * nx + 1);
      gl.bindBuffer(gl.ARRAY_BUFFER, drawing.heights);
      gl.bufferSubData(gl.ARRAY_BUFFER, 0, values);
      reliefFrame = shownFrame;
    }
    const matrix = viewMatrix(w / h);
    gl.viewport(0, 0, w, h);
    gl.clearColor(0, 0, 0, 0);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.uniformMatrix4fv(gl.getUniformLocation(drawing.program, "view"), false, new Float32Array(matrix));
    gl.drawElements(gl.TRIANGLES, drawing.mesh.index.length, gl.UNSIGNED_INT, 0);
    const spot = byId("solid-place"), finding = chosen ? data.findings[chosen - 1] : null, place_ = finding && finding.place;
    spot.hidden = !place_;
    if (!place_) return;
    const most = Math.max(stock.columns, stock.rows) * stock.cell;
    const x = (place_[0] - stock.x - stock.columns * stock.cell / 2) / most, y = (place_[1] - stock.y - stock.rows * stock.cell / 2) / most;
    const z = Math.min(drawing.size[2] * 1.4, Math.max(0, (place_[2] - stock.floor) / (stock.top - stock.floor) * drawing.size[2]));
    spot.style.left = (0.5 + (matrix[0] * x + matrix[4] * y + matrix[8] * z) / 2) * 100 + "%";
    spot.style.top = (0.5 - (matrix[1] * x + matrix[5] * y + matrix[9] * z) / 2) * 100 + "%";
  }
