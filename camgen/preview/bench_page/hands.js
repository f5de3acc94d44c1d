// Playing, hands and keys.

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

function zoom(times, x, y) {
  const u = fromX(x), v = fromY(y);
  const [a, b, c, d] = setup.bounds;
  const floor = (0.2 * Math.min(layers[0].width, layers[0].height)) / Math.max(c - a, d - b, 1e-3);
  scale = Math.min(Math.max(scale * times, floor), 40000 * ratio());
  midU += u - fromX(x); midV += v - fromY(y);
  glide();
}
const place = (event) => { const box = field.getBoundingClientRect(); return [(event.clientX - box.left) * ratio(), (event.clientY - box.top) * ratio()]; };
field.addEventListener("wheel", (event) => { event.preventDefault(); zoom(Math.exp(-event.deltaY * 0.0016), ...place(event)); }, { passive: false });
const fingers = new Map();
field.addEventListener("pointerdown", (event) => {
  if (event.target.closest("button")) return;
  field.setPointerCapture(event.pointerId); fingers.set(event.pointerId, place(event));
});
field.addEventListener("pointermove", (event) => {
  if (!fingers.has(event.pointerId)) return;
  const before = fingers.get(event.pointerId), to = place(event);
  if (fingers.size === 1) { midU -= (to[0] - before[0]) / scale; midV += (to[1] - before[1]) / scale; glide(); }
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
const nudge = (x, y) => { midU += (x * layers[0].width * 0.12) / scale; midV += (y * layers[0].height * 0.12) / scale; glide(); };
const onField = { ArrowLeft: () => nudge(-1, 0), ArrowRight: () => nudge(1, 0), ArrowUp: () => nudge(0, 1), ArrowDown: () => nudge(0, -1) };
const anywhere = {
  " ": () => play(!playing), ".": () => step(1), ",": () => step(-1), ">": () => step(100), "<": () => step(-100),
  Home: () => setTime(0), End: () => setTime(whole), "+": () => zoom(1.4, ...middle()), "=": () => zoom(1.4, ...middle()), "-": () => zoom(1 / 1.4, ...middle()),
  0: fit, l: () => byId("loupe").click(), r: () => byId("rapids").click(), g: () => byId("dark").click(), "?": () => byId("help").click(),
};
document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.altKey || event.metaKey || document.querySelector("dialog[open]")) return;
  if (event.target === field && onField[event.key]) { event.preventDefault(); onField[event.key](); return; }
  if (["BUTTON", "SELECT"].includes(event.target.tagName) && [" ", "Home", "End"].includes(event.key)) return;
  if (event.target === byId("when") && event.key.startsWith("Arrow")) { event.preventDefault(); step((event.key === "ArrowRight" || event.key === "ArrowUp" ? 1 : -1) * (event.shiftKey ? 100 : 1)); return; }
  if (anywhere[event.key]) { event.preventDefault(); anywhere[event.key](); }
});
byId("when").addEventListener("input", (event) => setTime((Number(event.target.value) / 100000) * whole));
const onClick = (name, does) => { const one = byId(name); if (one) one.addEventListener("click", does); };
onClick("play", () => play(!playing));
onClick("back", () => step(-1));
onClick("on", () => step(1));
onClick("fit", fit);
byId("pace").addEventListener("change", (event) => { pace = Number(event.target.value); });
const pressed = (name, on) => byId(name).setAttribute("aria-pressed", String(on));
onClick("loupe", () => { loupe = !loupe; pressed("loupe", loupe); show(); });
onClick("rapids", () => { withRapids = !withRapids; pressed("rapids", withRapids); redraw(); });
onClick("help", () => byId("keys").showModal());
onClick("close", () => byId("keys").close());
onClick("mind", () => byId("minding").showModal());
onClick("minded", () => byId("minding").close());
onClick("setups", (event) => { const one = event.target.closest("button"); if (one) { play(false); open(Number(one.dataset.setup)); } });
onClick("go-on", () => open(number + 1));
text.addEventListener("scroll", fillText, { passive: true });
for (const list of [text, byId("places")]) {
  list.addEventListener("click", (event) => { const one = event.target.closest("[data-place]"); if (one) goToLine(Number(one.dataset.place)); });
}

function paint(dark) {
  document.documentElement.dataset.ground = dark ? "dark" : "light";
  pressed("dark", dark);
  colours = work.colours[dark ? "dark" : "light"]; shades = work.shades[dark ? "dark" : "light"];
  drawProfile(); redraw();
}
onClick("dark", () => paint(document.documentElement.dataset.ground !== "dark"));
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
await take(0);
size();
const dark = window.matchMedia("(prefers-color-scheme: dark)").matches;
document.documentElement.dataset.ground = dark ? "dark" : "light";
pressed("dark", dark);
colours = work.colours[dark ? "dark" : "light"]; shades = work.shades[dark ? "dark" : "light"];
await open(0);
new ResizeObserver(() => {
  // On paper the drawing is scaled as it stands.
  if (window.matchMedia("print").matches) return;
  const was = layers[0].width;
  size();
  if (was > 1) scale *= layers[0].width / was;
  drawProfile(); redraw();
}).observe(field);
