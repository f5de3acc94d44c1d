// The motion of one setup at a time: stretches of straight way, unpacked when they are asked for.

const work = JSON.parse(document.getElementById("work").textContent);
const byId = (name) => document.getElementById(name);

// A text of the page's language, its {fields} filled in.
const say = (key, fields = {}) => work.words[key].replace(/{(\w+)}/g, (_, name) => fields[name]);

const RAPID = 0, CUT = 1, TURN = 2, WAIT = 3;
const NOT_ENGAGED = 255, GOING_DOWN = 181;
const PLACES_A_MM = 10000, TIMES_A_SECOND = 10000;
const KINDS = { i4: Int32Array, u4: Uint32Array, f4: Float32Array, u1: Uint8Array };

if (!window.DecompressionStream) { byId("where").textContent = say("too-old"); return; }

async function unpack(setup) {
  const coded = atob(setup.bytes), bytes = new Uint8Array(coded.length);
  for (let i = 0; i < coded.length; i += 1) bytes[i] = coded.charCodeAt(i);
  const whole = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"));
  const content = await new Response(whole).arrayBuffer();
  const found = {};
  let at = 0;
  for (const [name, sort, count, steps] of setup.columns) {
    const values = new KINDS[sort](content, at, count);
    at += values.byteLength;
    if (steps) for (let i = 1; i < count; i += 1) values[i] += values[i - 1];
    found[name] = values;
  }
  found.lines = new TextDecoder().decode(new Uint8Array(content, at)).split("\n");
  return found;
}

// Where each stretch begins and ends in the drawing (u to the right, v up) and its height w; all mm.
let setup, count = 0, whole = 0, until, angle, feed, speed, engaged, line, kind, cutter, lines;
let u0, v0, w0, u1, v1, w1, level, top = 0, low = 0, starts, ends;
// Of every so many stretches together: the box they lie in, so that what is far off costs nothing.
const TOGETHER = 64;
let boxes;
const kept = new Map();

async function take(number) {
  setup = work.setups[number];
  if (!kept.has(number)) kept.set(number, await unpack(setup));
  const all = kept.get(number);
  ({ angle, feed, speed, engaged, line, kind, cutter, lines } = all);
  count = kind.length;
  if (!all.ends) places(all);
  ({ starts, ends, until, u0, v0, w0, u1, v1, w1, level, boxes, top, low } = all);
  whole = count ? until[count - 1] : 0;
}

function places(all) {
  const found = { starts: new Float32Array(3 * count), ends: new Float32Array(3 * count), until: new Float64Array(count) };
  for (let i = 0; i < count; i += 1) {
    found.until[i] = all.until[i] / TIMES_A_SECOND;
    found.ends[3 * i] = all.x[i] / PLACES_A_MM;
    found.ends[3 * i + 1] = all.y[i] / PLACES_A_MM;
    found.ends[3 * i + 2] = all.z[i] / PLACES_A_MM;
  }
  found.starts.set(found.ends.subarray(0, Math.max(3 * (count - 1), 0)), 3);
  all.jump.forEach((row, n) => {
    found.starts[3 * row] = all.jump_x[n] / PLACES_A_MM;
    found.starts[3 * row + 1] = all.jump_y[n] / PLACES_A_MM;
    found.starts[3 * row + 2] = all.jump_z[n] / PLACES_A_MM;
  });
  const looked = (points, row) => {
    const [a, b, c, d] = setup.view[row], made = new Float32Array(count);
    for (let i = 0; i < count; i += 1) made[i] = a * points[3 * i] + b * points[3 * i + 1] + c * points[3 * i + 2] + d;
    return made;
  };
  [found.u0, found.v0, found.w0] = [0, 1, 2].map((row) => looked(found.starts, row));
  [found.u1, found.v1, found.w1] = [0, 1, 2].map((row) => looked(found.ends, row));
  found.top = setup.top;
  found.low = Math.min(setup.bottom, setup.top - 1e-6);
  found.level = levels(found);
  found.boxes = boxed(found);
  Object.assign(all, found);
}

/** How deep a stretch cuts: 0 not at all, or a shade from 1. */
function levels({ w0: from, w1: to, top: high, low: deep }) {
  const made = new Uint8Array(count), shades = work.shades.light.length;
  for (let i = 0; i < count; i += 1) {
    const depth = kind[i] === CUT ? (high - Math.min(from[i], to[i])) / (high - deep) : 0;
    made[i] = depth <= 1e-6 ? 0 : Math.max(1, Math.min(shades, Math.ceil(depth * shades)));
  }
  return made;
}

function boxed({ u0: a, v0: b, u1: c, v1: d }) {
  const made = new Float32Array(4 * Math.ceil(count / TOGETHER));
  for (let n = 0; 4 * n < made.length; n += 1) {
    let left = Infinity, under = Infinity, right = -Infinity, over = -Infinity;
    for (let i = n * TOGETHER; i < Math.min(count, (n + 1) * TOGETHER); i += 1) {
      left = Math.min(left, a[i], c[i]); right = Math.max(right, a[i], c[i]);
      under = Math.min(under, b[i], d[i]); over = Math.max(over, b[i], d[i]);
    }
    made.set([left, under, right, over], 4 * n);
  }
  return made;
}

/** The stretch under way at a time: the first that ends no earlier. */
function at(time) {
  let a = 0, b = count - 1;
  while (a < b) { const m = (a + b) >> 1; if (until[m] < time) a = m + 1; else b = m; }
  return a;
}
const begun = (i) => (i ? until[i - 1] : 0);

/** The first stretch that a line of the text, or one after it, makes. */
function ofLine(place) {
  let a = 0, b = count;
  while (a < b) { const m = (a + b) >> 1; if (line[m] < place) a = m + 1; else b = m; }
  return a;
}
