// Everything on the screen follows from which setup is shown and one number, the time.

let now = 0, playing = false, pace = 10, seen = -1, loupe = true, number = 0;

function size() {
  const box = field.getBoundingClientRect();
  for (const canvas of layers) {
    canvas.width = Math.max(1, Math.round(box.width * ratio()));
    canvas.height = Math.max(1, Math.round(box.height * ratio()));
  }
  for (const canvas of [byId("profile"), lens.canvas]) {
    const own = canvas.getBoundingClientRect();
    canvas.width = Math.max(1, Math.round(own.width * ratio()));
    canvas.height = Math.max(1, Math.round(own.height * ratio()));
  }
}

function fit() {
  const [a, b, c, d] = setup.bounds;
  scale = 0.92 * Math.min(layers[0].width / Math.max(c - a, 1e-3), layers[0].height / Math.max(d - b, 1e-3));
  midU = (a + c) / 2; midV = (b + d) / 2;
  redraw();
}

/** Height against time under the slider: the deepest and highest of every column. */
function drawProfile() {
  const pen = byId("profile").getContext("2d"), wide = pen.canvas.width, high = pen.canvas.height;
  pen.clearRect(0, 0, wide, high);
  let least = setup.bottom, most = top + 1e-6;
  for (let i = 0; i < count; i += 1) { if (w1[i] < least) least = w1[i]; if (w1[i] > most) most = w1[i]; }
  const knee = high * 0.35;
  const y = (w) => (w > top ? knee * (1 - (w - top) / (most - top)) * 0.9 + 0.05 * knee : knee + ((top - w) / Math.max(top - least, 1e-9)) * (high - knee - 3));
  pen.fillStyle = colours.stock; pen.fillRect(0, knee, wide, y(setup.bottom) - knee);
  pen.strokeStyle = colours.quiet; pen.lineWidth = ratio(); pen.beginPath(); pen.moveTo(0, knee); pen.lineTo(wide, knee); pen.stroke();
  // Where steps and cutters begin.
  pen.setLineDash([3 * ratio(), 3 * ratio()]); pen.beginPath();
  for (const [place] of setup.places) { const x = (begun(Math.min(ofLine(place), count - 1)) / whole) * wide; pen.moveTo(x, 0); pen.lineTo(x, high); }
  pen.stroke(); pen.setLineDash([]);
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
  clearTimeout(resting);
  for (const canvas of layers.slice(0, 3)) canvas.style.transform = "";
  kept12.forget(wholeField()); plate.forget(null);
  ground.clearRect(0, 0, ground.canvas.width, ground.canvas.height);
  within(kept12.view, () => drawGround(ground));
  document.body.dataset.drawn = String(Number(document.body.dataset.drawn || 0) + 1);
  seen = -1;
  show();
}

// While the drawing is moved by hand, what is drawn is only shifted; it is drawn anew at rest.
let resting = 0;
function glide() {
  const drawn = kept12.view, k = scale / drawn.scale, r = ratio(), { width, height } = layers[0];
  const x = ((width / 2) * (1 - k) + (drawn.midU - midU) * scale) / r, y = ((height / 2) * (1 - k) - (drawn.midV - midV) * scale) / r;
  for (const canvas of layers.slice(0, 3)) canvas.style.transform = `translate(${x}px, ${y}px) scale(${k})`;
  clearTimeout(resting);
  resting = setTimeout(redraw, 140);
  seen = -1;
  show();
}

// --- text and places to jump to ------------------------------------------------------------------

const text = byId("text"), roll = text.querySelector(".roll"), HIGH = 20;
let firstShown = -1, current = -1;

/** A line's number in its own program. */
function numberOf(place) {
  let first = 0;
  for (const one of setup.begins) if (one <= place) first = one;
  return place - first + 1;
}

function fillText() {
  const first = Math.max(0, Math.floor(text.scrollTop / HIGH) - 4);
  const last = Math.min(lines.length, first + Math.ceil(text.clientHeight / HIGH) + 9);
  if (first === firstShown && roll.dataset.now === String(current) && roll.childElementCount === last - first) return;
  firstShown = first; roll.dataset.now = String(current);
  roll.replaceChildren(...lines.slice(first, last).map((words, n) => {
    const one = document.createElement("div"), place = first + n;
    one.className = place === current ? "line now" : "line";
    one.style.top = `${place * HIGH}px`; one.dataset.number = String(numberOf(place)); one.dataset.place = String(place);
    one.textContent = words;
    return one;
  }));
}

function listPlaces() {
  byId("places").replaceChildren(...setup.places.map(([place, words]) => {
    const one = document.createElement("li"), button = document.createElement("button");
    button.textContent = words; button.dataset.place = String(place);
    one.append(button);
    return one;
  }));
}

function markPlace() {
  const all = [...byId("places").querySelectorAll("button")];
  const here = all.filter((one) => Number(one.dataset.place) <= current).pop();
  for (const one of all) {
    if ((one === here) === (one.getAttribute("aria-current") === "step")) continue;
    if (one === here) { one.setAttribute("aria-current", "step"); one.scrollIntoView({ block: "nearest" }); } else one.removeAttribute("aria-current");
  }
}

function goToLine(place) {
  const i = ofLine(place);
  if (i < count) setTime(Math.min(begun(i) + 1e-4, whole));
}

// --- showing a moment ----------------------------------------------------------------------------

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
  const i = at(now), from = begun(i), lasts = until[i] - from;
  const part = lasts > 0 ? Math.min(1, Math.max(0, (now - from) / lasts)) : 1;
  const u = u0[i] + part * (u1[i] - u0[i]), v = v0[i] + part * (v1[i] - v0[i]);
  if (i + part !== seen) { kept12.bring(part >= 1 ? i + 1 : i); seen = i + part; }
  within(wholeField(), () => drawTool(u, v, i, part));
  drawLens(u, v, i, part);
  const xyz = [0, 1, 2].map((k) => starts[3 * i + k] + part * (ends[3 * i + k] - starts[3 * i + k]));
  said("x", xyz[0].toFixed(3)); said("y", xyz[1].toFixed(3)); said("z", xyz[2].toFixed(3));
  said("a", setup.rotary ? angle[i].toFixed(3) : "");
  said("f", kind[i] === RAPID ? say("rapid") : kind[i] === TURN ? say("index") : kind[i] === WAIT ? say("waits") : feed[i].toFixed(feed[i] < 10 ? 1 : 0));
  said("s", speed[i] ? Math.abs(speed[i]).toFixed(0) + (speed[i] < 0 ? ` ${say("anticlockwise")}` : "") : say("spindle-off"));
  const time = say("of", { now: clock(now), whole: clock(whole) });
  said("t", time);
  const tools = setup.cutters[cutter[i]];
  said("c", tools ? tools.name : "–");
  const depth = top - (w0[i] + part * (w1[i] - w0[i]));
  said("d", depth > 0 ? depth.toFixed(3) : say("clear"));
  said("e", !setup.engagement || engaged[i] === NOT_ENGAGED ? "" : engaged[i] === GOING_DOWN ? say("going-down") : `${engaged[i]}°`);
  if (line[i] !== current) {
    current = line[i];
    const y = current * HIGH;
    if (y < text.scrollTop + 2 * HIGH || y > text.scrollTop + text.clientHeight - 3 * HIGH) text.scrollTop = y - text.clientHeight / 2;
    markPlace();
  }
  fillText();
  const slider = byId("when");
  if (document.activeElement !== slider || playing || Math.abs(Number(slider.value) - share()) > 1) slider.value = String(share());
  slider.setAttribute("aria-valuetext", say("at-line", { time, line: numberOf(current) }));
  // At the end of a setup: what is done before the next one.
  const next = work.setups[number + 1];
  byId("then").hidden = !(next && now >= whole);
  if (next) byId("then").firstChild.textContent = say("then", { name: next.name, first: next.first });
  document.body.dataset.at = `${xyz.map((n) => n.toFixed(3)).join(" ")}`;
}
const share = () => (whole ? Math.round((now / whole) * 100000) : 0);

function setTime(time) { now = Math.min(whole, Math.max(0, time)); show(); }

function step(by) {
  const i = at(now);
  if (by > 0) setTime(now >= until[i] - 1e-6 ? until[Math.min(count - 1, i + by)] : until[Math.min(count - 1, i + by - 1)]);
  else setTime(begun(Math.max(0, now <= begun(i) + 1e-6 ? i + by : i + by + 1)));
}

/** Another setup, from its start. */
async function open(which) {
  number = which;
  await take(which);
  loupe = !setup.wheel;
  byId("loupe").setAttribute("aria-pressed", String(loupe));
  now = 0; current = -1; firstShown = -1; wheelCut = null;
  byId("beneath").textContent = setup.subtitle;
  byId("where").textContent = say(setup.wheel ? "from-side" : "from-above");
  byId("a").parentElement.hidden = !setup.rotary;
  byId("e").parentElement.hidden = !setup.engagement;
  for (const one of byId("setups").children) one.setAttribute("aria-pressed", String(Number(one.dataset.setup) === which));
  roll.style.height = `${lines.length * HIGH}px`;
  listPlaces();
  drawProfile();
  fit();
}
