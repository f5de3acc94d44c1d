"use strict";
// The drawing is made of stretches of straight way. Everything on the screen follows from one
// number, the time; drawing is done in layers so that moving through time redraws little.

(() => {
  const work = JSON.parse(document.getElementById("work").textContent);
  const byId = (name) => document.getElementById(name);

  // A text of the page's language, its {fields} filled in.
  const say = (key, fields = {}) => work.words[key].replace(/{(\w+)}/g, (_, name) => fields[name]);

  // --- the motion --------------------------------------------------------------------------

  function numbers(name, Kind) {
    const coded = atob(work.arrays[name]);
    const bytes = new Uint8Array(coded.length);
    for (let i = 0; i < coded.length; i += 1) bytes[i] = coded.charCodeAt(i);
    return new Kind(bytes.buffer);
  }

  const ends = numbers("ends", Float32Array);
  const starts = numbers("starts", Float32Array);
  const until = numbers("until", Float32Array);
  const angle = numbers("angle", Float32Array);
  const feed = numbers("feed", Float32Array);
  const speed = numbers("speed", Float32Array);
  const engaged = numbers("engaged", Float32Array);
  const line = numbers("line", Uint32Array);
  const kind = numbers("kind", Uint8Array);
  const cutter = numbers("cutter", Uint8Array);
  const count = until.length;
  const whole = count ? until[count - 1] : 0;
  const RAPID = 0, CUT = 1, TURN = 2, WAIT = 3;

  const across = (points, i, row) => {
    const m = work.view[row], at = 3 * i;
    return m[0] * points[at] + m[1] * points[at + 1] + m[2] * points[at + 2] + m[3];
  };
  const u0 = new Float32Array(count), v0 = new Float32Array(count), w0 = new Float32Array(count);
  const u1 = new Float32Array(count), v1 = new Float32Array(count), w1 = new Float32Array(count);
  for (let i = 0; i < count; i += 1) {
    u0[i] = across(starts, i, 0); v0[i] = across(starts, i, 1); w0[i] = across(starts, i, 2);
    u1[i] = across(ends, i, 0); v1[i] = across(ends, i, 1); w1[i] = across(ends, i, 2);
  }
  const top = work.top, low = Math.min(work.bottom, top - 1e-6);
  const levelOf = (i) => {
    if (kind[i] !== CUT) return 0;
    const depth = (top - Math.min(w0[i], w1[i])) / (top - low);
    return depth <= 1e-6 ? 0 : Math.max(1, Math.min(work.shades.light.length, Math.ceil(depth * work.shades.light.length)));
  };
  const level = new Uint8Array(count);
  for (let i = 0; i < count; i += 1) level[i] = levelOf(i);

  /** The stretch under way at a time: the first that ends no earlier. */
  function at(time) {
    let a = 0, b = count - 1;
    while (a < b) { const m = (a + b) >> 1; if (until[m] < time) a = m + 1; else b = m; }
    return a;
  }
  const begun = (i) => (i ? until[i - 1] : 0);

  // --- state -------------------------------------------------------------------------------

  let now = 0, playing = false, pace = 10, seen = -1;
  let scale = 1, midU = 0, midV = 0;
  let loupe = true;
  const ratio = () => Math.min(window.devicePixelRatio || 1, 2);
  const field = byId("field");
  const layers = ["ground", "done", "tool"].map((name) => byId(name));
  const [ground, done, tool] = layers.map((canvas) => canvas.getContext("2d"));
  const spare = () => document.createElement("canvas");
  let colours = work.colours.light, shades = work.shades.light;

  function size() {
    const box = field.getBoundingClientRect();
    for (const canvas of layers) {
      canvas.width = Math.max(1, Math.round(box.width * ratio()));
      canvas.height = Math.max(1, Math.round(box.height * ratio()));
    }
    const strip = byId("profile"), along = byId("strip").getBoundingClientRect();
    strip.width = Math.max(1, Math.round(along.width * ratio()));
    strip.height = Math.max(1, Math.round(along.height * ratio()));
  }

  function fit() {
    const [a, b, c, d] = work.bounds;
    const wide = layers[0].width, high = layers[0].height;
    scale = 0.92 * Math.min(wide / Math.max(c - a, 1e-3), high / Math.max(d - b, 1e-3));
    midU = (a + c) / 2; midV = (b + d) / 2;
    redraw();
  }

  // What is being drawn into: the whole field, or for a while the loupe.
  let view = null;
  const wholeField = () => ({ scale, midU, midV, x: layers[0].width / 2, y: layers[0].height / 2,
    left: 0, top: 0, right: layers[0].width, bottom: layers[0].height });
  const toX = (u) => (u - view.midU) * view.scale + view.x;
  const toY = (v) => view.y - (v - view.midV) * view.scale;
  const fromX = (x) => (x - layers[0].width / 2) / scale + midU;
  const fromY = (y) => (layers[0].height / 2 - y) / scale + midV;

  // --- drawing -----------------------------------------------------------------------------

  function outline(pen, points, open) {
    pen.beginPath();
    for (let i = 0; i < points.length; i += 1) {
      const x = toX(points[i][0]), y = toY(points[i][1]);
      if (i) pen.lineTo(x, y); else pen.moveTo(x, y);
    }
    if (!open) pen.closePath();
  }

  function hatched(pen, colour) {
    const tile = spare(); tile.width = tile.height = 8 * ratio();
    const small = tile.getContext("2d"); small.strokeStyle = colour; small.lineWidth = ratio();
    small.beginPath(); small.moveTo(0, tile.height); small.lineTo(tile.width, 0); small.stroke();
    return pen.createPattern(tile, "repeat");
  }

  function drawGround(pen) {
    for (const shape of work.shapes) {
      outline(pen, shape.points);
      if (shape.kind === "stock") { pen.fillStyle = colours.stock; pen.fill(); pen.strokeStyle = colours.quiet; pen.lineWidth = ratio(); pen.stroke(); }
      if (shape.kind === "holding") { pen.fillStyle = colours.paper; pen.fill(); pen.fillStyle = hatched(pen, colours.holding); pen.fill(); pen.strokeStyle = colours.holding; pen.lineWidth = ratio(); pen.stroke(); }
    }
    // What is still to come: thin and pale.
    pen.strokeStyle = colours.quiet; pen.globalAlpha = 0.45; pen.lineWidth = 0.8 * ratio();
    trace(pen, 0, count, (i) => kind[i] === CUT);
    pen.globalAlpha = 1;
  }

  /** One path through the stretches from a to b that are wanted; what is too short to be seen is
      joined to the next. */
  function trace(pen, a, b, wanted) {
    const { left, top: upper, right, bottom } = view, far = pen.lineWidth;
    pen.beginPath();
    let lastX = NaN, lastY = NaN, pending = false;
    for (let i = a; i < b; i += 1) {
      if (!wanted(i)) { if (pending) pen.lineTo(lastX, lastY); pending = false; lastX = NaN; continue; }
      const x0 = toX(u0[i]), y0 = toY(v0[i]), x1 = toX(u1[i]), y1 = toY(v1[i]);
      if (Math.max(x0, x1) < left - far || Math.min(x0, x1) > right + far || Math.max(y0, y1) < upper - far || Math.min(y0, y1) > bottom + far) { if (pending) pen.lineTo(lastX, lastY); pending = false; lastX = NaN; continue; }
      if (!(lastX === lastX)) { pen.moveTo(x0, y0); lastX = x0; lastY = y0; }
      if (Math.abs(x1 - lastX) + Math.abs(y1 - lastY) < 1.2) { pending = true; continue; }
      pen.lineTo(x1, y1); lastX = x1; lastY = y1; pending = false;
    }
    if (pending && b > a) pen.lineTo(toX(u1[b - 1]), toY(v1[b - 1]));
    pen.stroke();
  }

  /** How wide a cutter cuts at a depth: all its width, a pointed one as deep as it is. */
  function widthAt(tools, depth) {
    if (!work.swath || !tools) return 0;
    return tools.spread ? Math.min(tools.diameter, tools.tip + tools.spread * depth) : tools.diameter;
  }
  const swath = (tools, deep) => widthAt(tools, (deep / work.shades.light.length) * (top - low));

  // Straight into the picture: a line without length, which no stroke shows.
  const isDown = (i) => u0[i] === u1[i] && v0[i] === v1[i];

  function hole(pen, i, share = 1) {
    const depth = top - Math.min(w0[i], w0[i] + share * (w1[i] - w0[i]));
    const across = Math.max(1.4 * ratio(), widthAt(work.cutters[cutter[i]], depth) * view.scale);
    pen.fillStyle = pen.strokeStyle;
    pen.beginPath(); pen.arc(toX(u0[i]), toY(v0[i]), across / 2, 0, 7); pen.fill();
  }

  /** The stretches from a to b as they were made: swaths of the cutter's width, rapids dotted. */
  function drawDone(pen, a, b, part) {
    pen.lineJoin = "round"; pen.lineCap = "round";
    let i = a;
    while (i < b) {
      let j = i + 1;
      while (j < b && level[j] === level[i] && kind[j] === kind[i] && cutter[j] === cutter[i]) j += 1;
      const tools = work.cutters[cutter[i]];
      if (level[i]) {
        pen.setLineDash([]);
        pen.strokeStyle = shades[level[i] - 1];
        pen.lineWidth = Math.max(1.4 * ratio(), swath(tools, level[i]) * view.scale);
      } else if (kind[i] === RAPID) {
        pen.setLineDash([0.1, 4 * ratio()]);
        pen.strokeStyle = colours.rapid; pen.lineWidth = 1.6 * ratio();
      } else {
        pen.setLineDash([4 * ratio(), 3 * ratio()]);
        pen.strokeStyle = colours.quiet; pen.lineWidth = ratio();
      }
      if (kind[i] !== TURN && kind[i] !== WAIT) {
        trace(pen, i, j, () => true);
        if (level[i]) for (let k = i; k < j; k += 1) if (isDown(k)) hole(pen, k);
        if (level[i] && pen.lineWidth > 9 * ratio()) { pen.strokeStyle = colours.paper; pen.lineWidth = ratio(); trace(pen, i, j, () => true); }
      }
      i = j;
    }
    pen.setLineDash([]);
    if (part !== undefined && b < count && kind[b] !== TURN && kind[b] !== WAIT) {
      const tools = work.cutters[cutter[b]];
      pen.strokeStyle = level[b] ? shades[level[b] - 1] : kind[b] === RAPID ? colours.rapid : colours.quiet;
      pen.lineWidth = level[b] ? Math.max(1.4 * ratio(), swath(tools, level[b]) * view.scale) : ratio();
      pen.setLineDash(kind[b] === RAPID ? [0.1, 4 * ratio()] : []);
      if (level[b] && isDown(b)) hole(pen, b, part);
      pen.beginPath(); pen.moveTo(toX(u0[b]), toY(v0[b]));
      pen.lineTo(toX(u0[b] + part * (u1[b] - u0[b])), toY(v0[b] + part * (v1[b] - v0[b]))); pen.stroke();
      pen.setLineDash([]);
    }
  }

  // Snapshots of the finished work at even shares of the stretches: going back starts at one.
  const PARTS = 12;
  let snaps = [];

  function forget() { snaps = []; }

  function updateDone(i, part) {
    const pen = done, wide = pen.canvas.width, high = pen.canvas.height;
    const step = Math.max(1, Math.ceil(count / PARTS));
    let from = 0;
    const nearest = Math.min(Math.floor(i / step), snaps.length);
    pen.clearRect(0, 0, wide, high);
    if (nearest > 0) { pen.drawImage(snaps[nearest - 1], 0, 0); from = nearest * step; }
    while (from + step <= i) {
      drawDone(pen, from, from + step);
      from += step;
      if (snaps.length < from / step && snaps.length < PARTS) {
        const copy = spare(); copy.width = wide; copy.height = high;
        copy.getContext("2d").drawImage(pen.canvas, 0, 0); snaps.push(copy);
      }
    }
    drawDone(pen, from, i, part);
    drawEdges(pen);
  }

  /** The finished part's lines lie over what was cut away. */
  function drawEdges(pen) {
    pen.strokeStyle = colours.edge; pen.lineWidth = 1.4 * ratio();
    for (const shape of work.shapes) if (shape.kind === "edge") { outline(pen, shape.points, shape.open); pen.stroke(); }
  }

  function zero(pen) {
    const x = toX(work.zero[0]), y = toY(work.zero[1]), arm = 13 * ratio();
    pen.strokeStyle = colours.mark; pen.lineWidth = 1.2 * ratio();
    pen.beginPath(); pen.moveTo(x - arm, y); pen.lineTo(x + arm, y); pen.moveTo(x, y - arm); pen.lineTo(x, y + arm); pen.stroke();
    pen.fillStyle = colours.paper; pen.beginPath(); pen.arc(x, y, 4.5 * ratio(), 0, 7); pen.fill(); pen.stroke();
  }

  function drawTool(u, v, i) {
    const pen = tool, wide = pen.canvas.width, high = pen.canvas.height, r = ratio();
    pen.clearRect(0, 0, wide, high);
    zero(pen);
    const tools = work.cutters[cutter[i]];
    const radius = tools ? (tools.diameter / 2) * scale : 0;
    const x = toX(u), y = toY(v) - (work.swath ? 0 : radius);
    pen.strokeStyle = colours.paper; pen.lineWidth = 4 * r; ring(pen, x, y, radius);
    pen.strokeStyle = colours.mark; pen.lineWidth = 1.8 * r; ring(pen, x, y, radius);
    const tip = toY(v);
    pen.beginPath(); pen.moveTo(x - 7 * r, tip); pen.lineTo(x + 7 * r, tip); pen.moveTo(x, tip - 7 * r); pen.lineTo(x, tip + 7 * r); pen.stroke();
    if (work.wheel) drawWheel(pen, i);
    if (loupe) drawLoupe(pen, u, v, i, x, tip);
    scaleBar(pen);
  }

  function ring(pen, x, y, radius) { if (radius > 0) { pen.beginPath(); pen.arc(x, y, radius, 0, 7); pen.stroke(); } }

  /** A lens that shows the place of the cutter four times larger, in a corner it is not in. */
  function drawLoupe(pen, u, v, i, x, y) {
    const wide = pen.canvas.width, high = pen.canvas.height, r = ratio(), times = 4;
    const half = Math.min(wide, high) * 0.19, cy = half + 14 * r;
    if (half < 40 * r) return;
    const onRight = !(x > wide - 2 * half - 60 * r && y < 2 * half + 60 * r);
    const cx = onRight ? wide - half - 14 * r : half + 14 * r;
    const part = seen - Math.floor(seen), outer = view;
    pen.save();
    pen.beginPath(); pen.arc(cx, cy, half, 0, 7); pen.fillStyle = colours.paper; pen.fill(); pen.clip();
    view = { scale: scale * times, midU: u, midV: v, x: cx, y: cy, left: cx - half, top: cy - half, right: cx + half, bottom: cy + half };
    drawGround(pen); drawDone(pen, 0, i, part); drawEdges(pen);
    const tools = work.cutters[cutter[i]], radius = tools ? (tools.diameter / 2) * view.scale : 0;
    const up = work.swath ? 0 : radius;
    pen.strokeStyle = colours.paper; pen.lineWidth = 5 * r; ring(pen, cx, cy - up, radius);
    pen.strokeStyle = colours.mark; pen.lineWidth = 2 * r; ring(pen, cx, cy - up, radius);
    pen.beginPath(); pen.moveTo(cx - 8 * r, cy); pen.lineTo(cx + 8 * r, cy); pen.moveTo(cx, cy - 8 * r); pen.lineTo(cx, cy + 8 * r); pen.stroke();
    view = outer;
    pen.restore();
    pen.strokeStyle = colours.ink; pen.lineWidth = 2 * r; ring(pen, cx, cy, half);
    pen.lineWidth = 1.2 * r; ring(pen, x, y, half / times);
  }

  /** The wheel from its face, turned as the head stands, in the lower corner. */
  function drawWheel(pen, i) {
    const r = ratio(), half = Math.min(pen.canvas.width, pen.canvas.height) * 0.17;
    const cx = pen.canvas.width - half - 24 * r, cy = pen.canvas.height - half - 22 * r;
    const by = half / work.wheel.radius, turn = Math.PI / 2 - (angle[i] * Math.PI) / 180;
    const c = Math.cos(turn), s = Math.sin(turn);
    pen.fillStyle = colours.paper; pen.beginPath(); pen.arc(cx, cy, half + 16 * r, 0, 7); pen.fill();
    pen.beginPath();
    work.wheel.points.forEach(([px, py], n) => {
      const x = cx + by * (px * c - py * s), y = cy - by * (px * s + py * c);
      if (n) pen.lineTo(x, y); else pen.moveTo(x, y);
    });
    pen.closePath(); pen.fillStyle = colours.stock; pen.fill();
    pen.strokeStyle = colours.edge; pen.lineWidth = r; pen.stroke();
    pen.fillStyle = colours.mark; pen.beginPath(); pen.moveTo(cx, cy - half - 2 * r); pen.lineTo(cx - 6 * r, cy - half - 13 * r); pen.lineTo(cx + 6 * r, cy - half - 13 * r); pen.fill();
    // Space 1 keeps a mark, so that the turning can be seen.
    const k = work.wheel.root - (11 * r) / by;
    pen.beginPath(); pen.arc(cx + by * k * c, cy - by * k * s, 4 * r, 0, 7); pen.fill();
  }

  function scaleBar(pen) {
    const r = ratio(), most = (130 * r) / scale, power = 10 ** Math.floor(Math.log10(most));
    const length = [5, 2, 1].map((n) => n * power).find((n) => n <= most);
    const x = 16 * r, y = pen.canvas.height - 18 * r;
    pen.lineWidth = 2 * r; pen.strokeStyle = colours.ink; pen.beginPath();
    pen.moveTo(x, y - 6 * r); pen.lineTo(x, y); pen.lineTo(x + length * scale, y); pen.lineTo(x + length * scale, y - 6 * r); pen.stroke();
    pen.fillStyle = colours.ink; pen.font = `${14 * r}px "Liberation Sans", sans-serif`;
    pen.fillText(`${+length.toPrecision(2)} mm`, x + 6 * r, y - 5 * r);
  }

  /** Height against time under the slider: the deepest and highest of every column. */
  function drawProfile() {
    const pen = byId("profile").getContext("2d"), wide = pen.canvas.width, high = pen.canvas.height;
    pen.clearRect(0, 0, wide, high);
    let least = work.bottom, most = top + 1e-6;
    for (let i = 0; i < count; i += 1) { if (w1[i] < least) least = w1[i]; if (w1[i] > most) most = w1[i]; }
    const knee = high * 0.35;
    const y = (w) => (w > top ? knee * (1 - (w - top) / (most - top)) * 0.9 + 0.05 * knee : knee + ((top - w) / Math.max(top - least, 1e-9)) * (high - knee - 3));
    pen.fillStyle = colours.stock; pen.fillRect(0, knee, wide, y(work.bottom) - knee);
    pen.strokeStyle = colours.quiet; pen.lineWidth = ratio(); pen.beginPath(); pen.moveTo(0, knee); pen.lineTo(wide, knee); pen.stroke();
    const columns = new Float32Array(2 * (wide + 1)).fill(NaN);
    for (let i = 0; i < count; i += 1) {
      if (kind[i] !== CUT) continue;
      const a = Math.floor((begun(i) / whole) * wide), b = Math.floor((until[i] / whole) * wide);
      const hi = Math.max(w0[i], w1[i]), lo = Math.min(w0[i], w1[i]);
      for (let x = a; x <= b; x += 1) {
        if (!(columns[2 * x] >= hi)) columns[2 * x] = hi;
        if (!(columns[2 * x + 1] <= lo)) columns[2 * x + 1] = lo;
      }
    }
    pen.strokeStyle = shades[shades.length - 1]; pen.beginPath();
    for (let x = 0; x <= wide; x += 1) if (columns[2 * x] === columns[2 * x]) { pen.moveTo(x, y(columns[2 * x]) - 0.5); pen.lineTo(x, y(columns[2 * x + 1]) + 1); }
    pen.stroke();
  }

  function redraw() {
    forget();
    view = wholeField();
    ground.clearRect(0, 0, ground.canvas.width, ground.canvas.height);
    drawGround(ground);
    seen = -1;
    show();
  }

  // --- the text ----------------------------------------------------------------------------

  const text = byId("text"), roll = text.querySelector(".roll");
  const lines = work.lines, HIGH = 20;
  roll.style.height = `${lines.length * HIGH}px`;
  let firstShown = -1, current = -1;

  function fillText() {
    const first = Math.max(0, Math.floor(text.scrollTop / HIGH) - 4);
    const last = Math.min(lines.length, first + Math.ceil(text.clientHeight / HIGH) + 9);
    if (first === firstShown && roll.dataset.now === String(current) && roll.childElementCount === last - first) return;
    firstShown = first; roll.dataset.now = String(current);
    roll.replaceChildren(...lines.slice(first, last).map((words, n) => {
      const one = document.createElement("div"), place = first + n;
      one.className = place === current ? "line now" : "line";
      one.style.top = `${place * HIGH}px`; one.dataset.number = String(work.numbers[place]); one.dataset.place = String(place);
      one.textContent = words;
      return one;
    }));
  }
  text.addEventListener("scroll", fillText, { passive: true });
  text.addEventListener("click", (event) => {
    const one = event.target.closest(".line");
    if (one) goToLine(Number(one.dataset.place));
  });

  function goToLine(place) {
    let a = 0, b = count;
    while (a < b) { const m = (a + b) >> 1; if (line[m] < place) a = m + 1; else b = m; }
    if (a < count) setTime(Math.min(begun(a) + 1e-4, whole));
  }

  // --- showing a moment --------------------------------------------------------------------

  const said = (name, words) => { const cell = byId(name); if (cell.textContent !== words) cell.textContent = words; };
  const clock = (seconds) => {
    const s = Math.round(seconds), h = Math.floor(s / 3600), m = Math.floor((s % 3600) / 60);
    const two = (n) => String(n).padStart(2, "0");
    return h ? `${h}:${two(m)}:${two(s % 60)}` : `${m}:${two(s % 60)}`;
  };
  let queued = false;
  function show() { if (!queued) { queued = true; requestAnimationFrame(showNow); } }

  function showNow() {
    queued = false;
    if (!count) return;
    view = wholeField();
    const i = at(now), from = begun(i), lasts = until[i] - from;
    const part = lasts > 0 ? Math.min(1, Math.max(0, (now - from) / lasts)) : 1;
    const u = u0[i] + part * (u1[i] - u0[i]), v = v0[i] + part * (v1[i] - v0[i]);
    const stamp = i + part;
    if (stamp !== seen) { updateDone(i, part); seen = stamp; }
    drawTool(u, v, i);
    const xyz = [0, 1, 2].map((k) => starts[3 * i + k] + part * (ends[3 * i + k] - starts[3 * i + k]));
    said("x", xyz[0].toFixed(3)); said("y", xyz[1].toFixed(3)); said("z", xyz[2].toFixed(3));
    if (work.rotary) said("a", angle[i].toFixed(3));
    said("f", kind[i] === RAPID ? say("rapid") : kind[i] === TURN ? say("index") : kind[i] === WAIT ? say("waits") : feed[i].toFixed(feed[i] < 10 ? 1 : 0));
    said("s", speed[i] ? Math.abs(speed[i]).toFixed(0) + (speed[i] < 0 ? ` ${say("anticlockwise")}` : "") : say("spindle-off"));
    const time = say("of", { now: clock(now), whole: clock(whole) });
    said("t", time);
    const tools = work.cutters[cutter[i]];
    said("c", tools ? tools.name : "–");
    const depth = top - (w0[i] + part * (w1[i] - w0[i]));
    said("d", depth > 0 ? depth.toFixed(3) : say("clear"));
    if (work.engagement) said("e", engaged[i] > 180 ? say("going-down") : `${engaged[i].toFixed(0)}°`);
    if (line[i] !== current) {
      current = line[i];
      const y = current * HIGH;
      if (y < text.scrollTop + 2 * HIGH || y > text.scrollTop + text.clientHeight - 3 * HIGH) text.scrollTop = y - text.clientHeight / 2;
    }
    fillText();
    const slider = byId("when");
    if (document.activeElement !== slider || playing || Math.abs(Number(slider.value) - share()) > 1) slider.value = String(share());
    slider.setAttribute("aria-valuetext", say("at-line", { time, line: work.numbers[current] }));
    document.body.dataset.at = `${xyz.map((n) => n.toFixed(3)).join(" ")}`;
  }
  const share = () => (whole ? Math.round((now / whole) * 100000) : 0);

  function setTime(time) { now = Math.min(whole, Math.max(0, time)); show(); }

  function step(by) {
    const i = at(now);
    if (by > 0) setTime(now >= until[i] - 1e-6 ? until[Math.min(count - 1, i + by)] : until[Math.min(count - 1, i + by - 1)]);
    else setTime(begun(Math.max(0, now <= begun(i) + 1e-6 ? i + by : i + by + 1)));
  }

  // --- playing -----------------------------------------------------------------------------

  const still = window.matchMedia("(prefers-reduced-motion: reduce)");
  let last = 0;
  function play(on) {
    playing = on && count > 0;
    if (playing && now >= whole) now = 0;
    byId("play").setAttribute("aria-pressed", String(playing));
    byId("play").textContent = say(playing ? "stop" : "play");
    last = performance.now();
    if (playing) requestAnimationFrame(run);
  }
  function run(moment) {
    if (!playing) return;
    const passed = moment - last;
    // Those who asked for less motion see one picture a second.
    if (!still.matches || passed >= 1000) {
      last = moment;
      setTime(now + (Math.min(passed, 1200) / 1000) * pace);
      if (now >= whole) { play(false); return; }
    }
    requestAnimationFrame(run);
  }

  // --- hands and keys ----------------------------------------------------------------------

  function zoom(times, x, y) {
    const u = fromX(x), v = fromY(y);
    const [a, b, c, d] = work.bounds;
    const floor = (0.2 * Math.min(layers[0].width, layers[0].height)) / Math.max(c - a, d - b, 1e-3);
    scale = Math.min(Math.max(scale * times, floor), 40000 * ratio());
    midU += u - fromX(x); midV += v - fromY(y);
    redraw();
  }
  const place = (event) => { const box = field.getBoundingClientRect(); return [(event.clientX - box.left) * ratio(), (event.clientY - box.top) * ratio()]; };
  field.addEventListener("wheel", (event) => { event.preventDefault(); zoom(Math.exp(-event.deltaY * 0.0016), ...place(event)); }, { passive: false });
  const fingers = new Map();
  field.addEventListener("pointerdown", (event) => { field.setPointerCapture(event.pointerId); fingers.set(event.pointerId, place(event)); });
  field.addEventListener("pointermove", (event) => {
    if (!fingers.has(event.pointerId)) return;
    const before = fingers.get(event.pointerId), to = place(event);
    if (fingers.size === 1) { midU -= (to[0] - before[0]) / scale; midV += (to[1] - before[1]) / scale; redraw(); }
    if (fingers.size === 2) {
      const other = [...fingers.entries()].find(([id]) => id !== event.pointerId)[1];
      const was = Math.hypot(before[0] - other[0], before[1] - other[1]), is = Math.hypot(to[0] - other[0], to[1] - other[1]);
      if (was > 4) zoom(is / was, (to[0] + other[0]) / 2, (to[1] + other[1]) / 2);
    }
    fingers.set(event.pointerId, to);
  });
  for (const end of ["pointerup", "pointercancel"]) field.addEventListener(end, (event) => fingers.delete(event.pointerId));
  field.addEventListener("dblclick", fit);

  const middle = () => [layers[0].width / 2, layers[0].height / 2];
  const nudge = (x, y) => { midU += (x * layers[0].width * 0.12) / scale; midV += (y * layers[0].height * 0.12) / scale; redraw(); };
  const onField = { ArrowLeft: () => nudge(-1, 0), ArrowRight: () => nudge(1, 0), ArrowUp: () => nudge(0, 1), ArrowDown: () => nudge(0, -1) };
  const anywhere = {
    " ": () => play(!playing), ".": () => step(1), ",": () => step(-1), ">": () => step(100), "<": () => step(-100),
    Home: () => setTime(0), End: () => setTime(whole), "+": () => zoom(1.4, ...middle()), "=": () => zoom(1.4, ...middle()), "-": () => zoom(1 / 1.4, ...middle()),
    0: fit, l: () => byId("loupe").click(), g: () => byId("dark").click(), "?": () => byId("help").click(),
  };
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || byId("keys").open) return;
    if (event.target === field && onField[event.key]) { event.preventDefault(); onField[event.key](); return; }
    if (["BUTTON", "SELECT"].includes(event.target.tagName) && [" ", "Home", "End"].includes(event.key)) return;
    if (event.target === byId("when") && event.key.startsWith("Arrow")) { event.preventDefault(); step((event.key === "ArrowRight" || event.key === "ArrowUp" ? 1 : -1) * (event.shiftKey ? 100 : 1)); return; }
    if (anywhere[event.key]) { event.preventDefault(); anywhere[event.key](); }
  });
  byId("when").addEventListener("input", (event) => setTime((Number(event.target.value) / 100000) * whole));
  byId("play").addEventListener("click", () => play(!playing));
  byId("back").addEventListener("click", () => step(-1));
  byId("on").addEventListener("click", () => step(1));
  byId("fit").addEventListener("click", fit);
  byId("pace").addEventListener("change", (event) => { pace = Number(event.target.value); });
  byId("loupe").addEventListener("click", (event) => { loupe = !loupe; event.currentTarget.setAttribute("aria-pressed", String(loupe)); show(); });
  byId("help").addEventListener("click", () => byId("keys").showModal());
  byId("close").addEventListener("click", () => byId("keys").close());

  function paint(dark) {
    document.documentElement.dataset.ground = dark ? "dark" : "light";
    byId("dark").setAttribute("aria-pressed", String(dark));
    colours = work.colours[dark ? "dark" : "light"]; shades = work.shades[dark ? "dark" : "light"];
    drawProfile(); redraw();
  }
  byId("dark").addEventListener("click", () => paint(document.documentElement.dataset.ground !== "dark"));
  // Browsers print the layers one by one, each wiping the one below; so paper gets one picture.
  function onPaper() {
    const all = spare();
    all.width = layers[0].width; all.height = layers[0].height;
    const pen = all.getContext("2d");
    pen.fillStyle = colours.paper; pen.fillRect(0, 0, all.width, all.height);
    for (const layer of layers) pen.drawImage(layer, 0, 0);
    byId("paper").src = all.toDataURL("image/png");
  }
  let before = false;
  window.addEventListener("beforeprint", () => { before = document.documentElement.dataset.ground === "dark"; paint(false); showNow(); onPaper(); });
  window.addEventListener("afterprint", () => { if (before) paint(true); });
  new ResizeObserver(() => {
    // On paper the drawing is scaled as it stands.
    if (window.matchMedia("print").matches) return;
    const was = layers[0].width;
    size();
    if (was > 1) scale *= layers[0].width / was;
    drawProfile(); redraw();
  }).observe(field);

  size();
  paint(window.matchMedia("(prefers-color-scheme: dark)").matches);
  fit();
})();
