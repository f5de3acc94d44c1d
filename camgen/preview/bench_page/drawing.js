// What is drawn, in layers, so that moving through time redraws little. A "view" is where in a
// canvas the work lies: scale in dots a mm, the work's point in its middle, and its bounds in dots.

const ratio = () => Math.min(window.devicePixelRatio || 1, 2);
const field = byId("field");
const layers = ["ground", "done", "ways", "tool"].map((name) => byId(name));
const [ground, done, ways, tool] = layers.map((canvas) => canvas.getContext("2d"));
const spare = () => document.createElement("canvas");
let colours = work.colours.light, shades = work.shades.light;
let scale = 1, midU = 0, midV = 0, withRapids = true, view = null;

function wholeField() {
  const { width, height } = layers[0];
  return { scale, midU, midV, x: width / 2, y: height / 2, left: 0, top: 0, right: width, bottom: height };
}
const toX = (u) => (u - view.midU) * view.scale + view.x;
const toY = (v) => view.y - (v - view.midV) * view.scale;
const fromX = (x) => (x - layers[0].width / 2) / scale + midU;
const fromY = (y) => (layers[0].height / 2 - y) / scale + midV;

function within(seen, draw) { const outer = view; view = seen; draw(); view = outer; }

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
  for (const shape of setup.shapes) {
    outline(pen, shape.points);
    if (shape.kind === "stock") { pen.fillStyle = colours.stock; pen.fill(); pen.strokeStyle = colours.quiet; pen.lineWidth = ratio(); pen.stroke(); }
    if (shape.kind === "holding") { pen.fillStyle = colours.paper; pen.fill(); pen.fillStyle = hatched(pen, colours.holding); pen.fill(); pen.strokeStyle = colours.holding; pen.lineWidth = ratio(); pen.stroke(); }
  }
  // What is still to come: thin and pale.
  pen.strokeStyle = colours.quiet; pen.globalAlpha = 0.45; pen.lineWidth = 0.8 * ratio();
  trace(pen, 0, count, CUT);
  pen.globalAlpha = 1;
}

// A path of more corners than this is drawn in pieces: browsers grow slow on long ones.
const MOST_CORNERS = 1500;

/** The stretches from a to b of one kind, or of any; what is too short to be seen is joined to the
    next, and what lies outside the view left out. */
function trace(pen, a, b, only = -1) {
  const far = pen.lineWidth, left = view.left - far, upper = view.top - far, right = view.right + far, bottom = view.bottom + far;
  let lastX = NaN, lastY = NaN, pending = false, corners = 0;
  const leave = () => { if (pending) pen.lineTo(lastX, lastY); pending = false; lastX = NaN; };
  pen.beginPath();
  for (let i = a; i < b; i += 1) {
    if (i % TOGETHER === 0 && outside(i / TOGETHER, left, upper, right, bottom)) { leave(); i += TOGETHER - 1; continue; }
    if (only >= 0 && kind[i] !== only) { leave(); continue; }
    const x0 = toX(u0[i]), y0 = toY(v0[i]), x1 = toX(u1[i]), y1 = toY(v1[i]);
    if (Math.max(x0, x1) < left || Math.min(x0, x1) > right || Math.max(y0, y1) < upper || Math.min(y0, y1) > bottom) { leave(); continue; }
    if (!(lastX === lastX)) { pen.moveTo(x0, y0); lastX = x0; lastY = y0; }
    if (i + 1 < b && Math.abs(x1 - lastX) + Math.abs(y1 - lastY) < 1.2) { pending = true; continue; }
    pen.lineTo(x1, y1); lastX = x1; lastY = y1; pending = false;
    corners += 1;
    if (corners > MOST_CORNERS) { pen.stroke(); pen.beginPath(); pen.moveTo(x1, y1); corners = 0; }
  }
  leave();
  pen.stroke();
}

function outside(n, left, upper, right, bottom) {
  return toX(boxes[4 * n + 2]) < left || toX(boxes[4 * n]) > right || toY(boxes[4 * n + 1]) < upper || toY(boxes[4 * n + 3]) > bottom;
}

/** How wide a cutter cuts at a depth: all its width, a pointed one as deep as it is. */
function widthAt(tools, depth) {
  if (!setup.swath || !tools) return 0;
  return tools.spread ? Math.min(tools.diameter, tools.tip + tools.spread * depth) : tools.diameter;
}
const swath = (i) => Math.max(1.4 * ratio(), widthAt(setup.cutters[cutter[i]], (level[i] / shades.length) * (top - low)) * view.scale);

// Straight into the picture: a line without length, which no stroke shows.
const isDown = (i) => u0[i] === u1[i] && v0[i] === v1[i];

function hole(pen, i, share = 1) {
  const depth = top - Math.min(w0[i], w0[i] + share * (w1[i] - w0[i]));
  const wide = Math.max(1.4 * ratio(), widthAt(setup.cutters[cutter[i]], depth) * view.scale);
  pen.fillStyle = pen.strokeStyle;
  pen.beginPath(); pen.arc(toX(u0[i]), toY(v0[i]), wide / 2, 0, 7); pen.fill();
}

function rapidLine(pen) { pen.setLineDash([0.1, 4 * ratio()]); pen.strokeStyle = colours.rapid; pen.lineWidth = 1.6 * ratio(); }
function airLine(pen) { pen.setLineDash([4 * ratio(), 3 * ratio()]); pen.strokeStyle = colours.quiet; pen.lineWidth = ratio(); }

/** The stretches from a to b as they were made: swaths of the cutter's width on one layer, on the
    other their middles, rapids dotted and air dashed. */
function drawDone(gone, lay, a, b) {
  for (const pen of [gone, lay]) { pen.lineJoin = "round"; pen.lineCap = "round"; pen.setLineDash([]); }
  let i = a;
  while (i < b) {
    let j = i + 1;
    while (j < b && level[j] === level[i] && kind[j] === kind[i] && cutter[j] === cutter[i]) j += 1;
    if (level[i]) {
      gone.strokeStyle = shades[level[i] - 1]; gone.lineWidth = swath(i);
      trace(gone, i, j);
      for (let k = i; k < j; k += 1) if (isDown(k)) hole(gone, k);
      if (gone.lineWidth > 9 * ratio()) { lay.setLineDash([]); lay.strokeStyle = colours.paper; lay.lineWidth = ratio(); trace(lay, i, j); }
    } else if (kind[i] === RAPID) {
      if (withRapids) { rapidLine(lay); trace(lay, i, j); }
    } else if (kind[i] === CUT) { airLine(lay); trace(lay, i, j); }
    i = j;
  }
}

/** The stretch under way, as far as it has come. */
function drawUnderWay(pen, i, part) {
  if (kind[i] === TURN || kind[i] === WAIT || part >= 1) return;
  pen.lineJoin = pen.lineCap = "round";
  if (level[i]) { pen.strokeStyle = shades[level[i] - 1]; pen.lineWidth = swath(i); if (isDown(i)) hole(pen, i, part); }
  else if (kind[i] === RAPID) { if (!withRapids) return; rapidLine(pen); } else airLine(pen);
  pen.beginPath(); pen.moveTo(toX(u0[i]), toY(v0[i]));
  pen.lineTo(toX(u0[i] + part * (u1[i] - u0[i])), toY(v0[i] + part * (v1[i] - v0[i]))); pen.stroke();
  pen.setLineDash([]);
}

/** The finished part's lines lie over what was cut away. */
function drawEdges(pen) {
  pen.strokeStyle = colours.edge; pen.lineWidth = 1.4 * ratio();
  for (const shape of setup.shapes) if (shape.kind === "edge") { outline(pen, shape.points, shape.open); pen.stroke(); }
}

/** Two layers that keep the finished work as seen in one view, drawn on as time goes on; pictures of
    them at even shares of the stretches, from which going back starts. */
class Keeper {
  constructor(gone, lay, parts) { this.gone = gone; this.lay = lay; this.parts = parts; this.forget(null); }
  forget(seen) { this.view = seen; this.drawn = -1; this.snaps = []; }
  bring(to) {
    if (this.drawn < 0 || to < this.drawn) this.goBack(to);
    within(this.view, () => {
      const step = Math.max(1, Math.ceil(count / (this.parts + 1)));
      while (this.parts && this.snaps.length < this.parts && (this.snaps.length + 1) * step <= to) {
        const next = (this.snaps.length + 1) * step;
        if (next > this.drawn) { drawDone(this.gone, this.lay, this.drawn, next); this.drawn = next; }
        if (next < this.drawn) break;
        this.snaps.push([this.gone, this.lay].map(copied));
      }
      if (this.drawn < to) { drawDone(this.gone, this.lay, this.drawn, to); this.drawn = to; }
    });
  }
  goBack(to) {
    const step = Math.max(1, Math.ceil(count / (this.parts + 1)));
    const near = Math.min(Math.floor(to / step), this.snaps.length);
    [this.gone, this.lay].forEach((pen, n) => {
      pen.clearRect(0, 0, pen.canvas.width, pen.canvas.height);
      if (near) pen.drawImage(this.snaps[near - 1][n], 0, 0);
    });
    this.drawn = near * step;
  }
}

function copied(pen) {
  const copy = spare(); copy.width = pen.canvas.width; copy.height = pen.canvas.height;
  copy.getContext("2d").drawImage(pen.canvas, 0, 0);
  return copy;
}

const kept12 = new Keeper(done, ways, 12);

function ring(pen, x, y, radius) { if (radius > 0) { pen.beginPath(); pen.arc(x, y, radius, 0, 7); pen.stroke(); } }

function cross(pen, x, y, arm) { pen.beginPath(); pen.moveTo(x - arm, y); pen.lineTo(x + arm, y); pen.moveTo(x, y - arm); pen.lineTo(x, y + arm); pen.stroke(); }

function zero(pen) {
  const x = toX(setup.zero[0]), y = toY(setup.zero[1]);
  pen.strokeStyle = colours.mark; pen.lineWidth = 1.2 * ratio();
  cross(pen, x, y, 13 * ratio());
  pen.fillStyle = colours.paper; pen.beginPath(); pen.arc(x, y, 4.5 * ratio(), 0, 7); pen.fill(); pen.stroke();
}

/** The cutter as it stands, from above, or of a disc from its side. */
function drawCutter(pen, u, v, i) {
  const r = ratio(), tools = setup.cutters[cutter[i]], radius = tools ? (tools.diameter / 2) * view.scale : 0;
  const x = toX(u), tip = toY(v), y = tip - (setup.swath ? 0 : radius);
  pen.setLineDash([]);
  pen.strokeStyle = colours.paper; pen.lineWidth = 4 * r; ring(pen, x, y, radius);
  pen.strokeStyle = colours.mark; pen.lineWidth = 1.8 * r; ring(pen, x, y, radius);
  cross(pen, x, tip, 7 * r);
}

function drawTool(u, v, i, part) {
  const pen = tool;
  pen.clearRect(0, 0, pen.canvas.width, pen.canvas.height);
  drawUnderWay(pen, i, part);
  drawEdges(pen);
  zero(pen);
  drawCutter(pen, u, v, i);
  if (!setup.wheel && loupe) { pen.lineWidth = 1.2 * ratio(); pen.strokeStyle = colours.ink; ring(pen, toX(u), toY(v), (lens.canvas.width / 2 / LARGER)); }
  scaleBar(pen);
}

function scaleBar(pen) {
  const r = ratio(), most = (130 * r) / view.scale, power = 10 ** Math.floor(Math.log10(most));
  const length = [5, 2, 1].map((n) => n * power).find((n) => n <= most);
  const x = 16 * r, y = pen.canvas.height - 18 * r;
  pen.lineWidth = 2 * r; pen.strokeStyle = colours.ink; pen.beginPath();
  pen.moveTo(x, y - 6 * r); pen.lineTo(x, y); pen.lineTo(x + length * view.scale, y); pen.lineTo(x + length * view.scale, y - 6 * r); pen.stroke();
  pen.fillStyle = colours.ink; pen.font = `${14 * r}px "Liberation Sans", sans-serif`;
  pen.fillText(`${+length.toPrecision(2)} mm`, x + 6 * r, y - 5 * r);
}

// --- beside the drawing: the place of the cutter larger, or the wheel from its face --------------

const lens = byId("lens").getContext("2d");
const LARGER = 4;
// A picture of the work larger than the lens, so that a cutter that goes on stays within it.
const plate = new Keeper(spare().getContext("2d"), spare().getContext("2d"), 0);
const plateGround = spare().getContext("2d");

function drawLens(u, v, i, part) {
  const pen = lens, wide = pen.canvas.width, high = pen.canvas.height;
  pen.clearRect(0, 0, wide, high);
  if (setup.wheel) { drawWheel(pen, i, part); return; }
  if (!loupe) return;
  const times = scale * LARGER, big = 3 * wide, at0 = plate.view;
  const far = at0 ? Math.max(Math.abs(u - at0.midU), Math.abs(v - at0.midV)) * times : Infinity;
  if (!at0 || at0.scale !== times || far > wide || plate.gone.canvas.width !== big) {
    for (const one of [plate.gone, plate.lay, plateGround]) { one.canvas.width = big; one.canvas.height = big; }
    plate.forget({ scale: times, midU: u, midV: v, x: big / 2, y: big / 2, left: 0, top: 0, right: big, bottom: big });
    within(plate.view, () => drawGround(plateGround));
  }
  plate.bring(part >= 1 ? i + 1 : i);
  const x = wide / 2 - plate.view.x - (u - plate.view.midU) * times, y = high / 2 - plate.view.y + (v - plate.view.midV) * times;
  for (const one of [plateGround, plate.gone, plate.lay]) pen.drawImage(one.canvas, x, y);
  within({ scale: times, midU: u, midV: v, x: wide / 2, y: high / 2, left: 0, top: 0, right: wide, bottom: high }, () => {
    drawUnderWay(pen, i, part); drawEdges(pen); drawCutter(pen, u, v, i); scaleBar(pen);
  });
}

let wheelCut = null;

/** The wheel from its face, turned as the head stands, with the spaces that are cut so far. */
function drawWheel(pen, i, part) {
  const r = ratio(), wide = pen.canvas.width, high = pen.canvas.height, { wheel } = setup;
  const near = loupe ? 5 : 1, by = near * (Math.min(wide, high) / 2 - 18 * r) / wheel.radius;
  cutWheel(part >= 1 ? i : i - 1, by);
  const middle = near > 1 ? wheel.radius * by + high * 0.25 : high / 2;
  pen.save();
  pen.translate(wide / 2, middle);
  pen.rotate(((angle[i] - 90) * Math.PI) / 180);
  pen.fillStyle = colours.stock; pen.strokeStyle = colours.edge; pen.lineWidth = 2 * r;
  pen.beginPath(); pen.arc(0, 0, wheel.radius * by, 0, 7); pen.fill(); pen.stroke(); pen.clip();
  // Space 1 keeps a mark, so that the turning can be seen.
  pen.fillStyle = colours.mark; pen.beginPath(); pen.arc(0.72 * wheel.radius * by, 0, 4 * r, 0, 7); pen.fill();
  pen.fillStyle = colours.paper; pen.beginPath(); pen.arc(0, 0, wheel.arbor * by, 0, 7); pen.fill(); pen.stroke();
  // Lines first: what a later pass takes away goes with its lines.
  for (const draw of ["stroke", "fill"]) for (const [turned, way] of wheelCut.ways.values()) { pen.save(); pen.rotate((-turned * Math.PI) / 180); pen[draw](way); pen.restore(); }
  pen.restore();
  const tip = middle - wheel.radius * by;
  pen.fillStyle = colours.mark; pen.beginPath(); pen.moveTo(wide / 2, tip - 2 * r); pen.lineTo(wide / 2 - 6 * r, tip - 13 * r); pen.lineTo(wide / 2 + 6 * r, tip - 13 * r); pen.fill();
}

/** The spaces that the stretches up to one have left. */
function cutWheel(to, by) {
  const { wheel } = setup;
  if (!wheelCut || wheelCut.of !== wheel || wheelCut.by !== by) {
    const shapes = wheel.shapes.map((points) => {
      const way = new Path2D();
      points.forEach(([x, y], n) => { if (n) way.lineTo(by * x, -by * y); else way.moveTo(by * x, -by * y); });
      way.closePath();
      return way;
    });
    wheelCut = { of: wheel, by, shapes, to: -1, next: 0, ways: new Map() };
  }
  if (to < wheelCut.to) Object.assign(wheelCut, { next: 0, ways: new Map() });
  while (wheelCut.next < wheel.spaces.length && wheel.spaces[wheelCut.next][0] <= to) {
    const [, turned, shape] = wheel.spaces[wheelCut.next];
    wheelCut.ways.set(`${turned} ${shape}`, [turned, wheelCut.shapes[shape]]);
    wheelCut.next += 1;
  }
  wheelCut.to = to;
}
