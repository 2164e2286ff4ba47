// The page: shows what the server tells, and sends what a person changes. It works nothing out.
"use strict";

const $ = (id) => document.getElementById(id);
const SVG = "http://www.w3.org/2000/svg";
const DRAWN = ["svg", "path", "line", "polyline", "polygon", "text"];
const GONE = "The program does not answer. If it has ended, start it again and open its new address: what you did is kept.";
let tab = "", colours, state, shownNumber = 0;

// Elements are made here alone, of names and words: nothing that is told can become markup.
function make(name, attributes = {}, ...children) {
  const one = DRAWN.includes(name) ? document.createElementNS(SVG, name) : document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key.startsWith("on")) one.addEventListener(key.slice(2), value);
    else one.setAttribute(key, value);
  }
  one.append(...children);
  return one;
}

const button = (words, onclick, more = {}) => make("button", { type: "button", onclick, ...more }, words);
const pause = (ms) => new Promise((done) => setTimeout(done, ms));

// What is the same stays, so that nothing flickers and no focus is lost.
const say = (one, words) => { if (one.textContent !== words) one.textContent = words; };
function isNew(one, told) {
  const was = one.builtOf;
  one.builtOf = JSON.stringify(told);
  return one.builtOf !== was;
}

async function act(name, what = {}) {
  try {
    const answer = await fetch(`do/${name}`, {
      method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ tab, ...what }),
    });
    return answer.ok ? await answer.json() : { mistakes: [{ path: "", words: await answer.text() }] };
  } catch {
    say($("remark"), GONE);
    return {};
  }
}

// Does what a button says; what was set before is set first.
async function command(name, what) {
  while (sending) await pause(10);
  const told = await act(name, what);
  take(told);
  return told;
}

function take(told, path = "") {
  if (told.groups) showState(told);
  showMistakes(told.mistakes || [], path);
}

// Controls.

const boxes = new Map();
const waiting = new Map();
let sending = null, held = "", drags = 0;

// One change is under way at a time; of those that come meanwhile the newest of each value is next.
async function send(change) {
  waiting.set(change.path, change);
  if (sending) return;
  while (waiting.size) {
    [sending] = waiting.values();
    waiting.delete(sending.path);
    take(await act("set", sending), sending.path);
    // While one drags each answer is waited for: what is sent before it would only be overtaken.
    const latest = performance.now() + (sending.mark ? 1000 : 0);
    while (shownNumber < state.number && performance.now() < latest) await pause(4);
  }
  sending = null;
  showGroups();
}

function showMistakes(mistakes, path) {
  for (const { box, mistake } of boxes.values()) { say(mistake, ""); box.removeAttribute("aria-invalid"); }
  const elsewhere = [];
  for (const one of mistakes) {
    const found = boxes.get(one.path) || boxes.get(path);
    const words = one.path === path || !one.path ? one.words : `${one.path}: ${one.words}`;
    if (!found) { elsewhere.push(words); continue; }
    say(found.mistake, words);
    found.box.setAttribute("aria-invalid", "true");
  }
  say($("mistake"), elsewhere.join("; "));
}

function control(one) {
  const id = `c-${one.path}`, isSlid = one.low != null;
  const words = make("p", { class: "words", id: `${id}-w` });
  const mistake = make("p", { class: "mistake", id: `${id}-m`, role: "alert" });
  const change = (value, more) => send({ path: one.path, kind: one.kind, value, ...more });
  const typed = () => {
    box.dataset.shown = box.value;
    const number = parseFloat(box.value.replace(",", "."));
    if (isSlid && !isNaN(number)) slider.value = number;
    change(one.kind === "flag" ? box.checked : box.value);
  };
  const about = { id, "aria-describedby": `${id}-w ${id}-m`, onchange: typed };
  const box = one.kind === "flag" ? make("input", { ...about, type: "checkbox" })
    : one.kind === "choice" ? make("select", about,
      ...one.choices.map((name) => make("option", { value: name }, name.replaceAll("_", " "))))
    : make("input", { ...about, inputmode: one.kind === "list" ? "text" : "decimal", placeholder: one.default });
  const slider = isSlid && make("input", { type: "range", "aria-label": `${one.label}, slider`, "aria-describedby": `${id}-w`,
    oninput: () => {
      held = one.path;
      box.value = slider.value;
      slider.setAttribute("aria-valuetext", `${box.value} ${one.unit}`);
      change(Number(slider.value), { mark: `${one.path} ${drags}` });
    },
    onchange: () => { held = ""; drags += 1; if (!sending) showGroups(); } });
  boxes.set(one.path, { box, slider, mistake, words });
  return make("div", { class: "control" }, make("label", { for: id }, one.label), box, make("span", {}, one.unit),
    slider || "", words, mistake);
}

// What somebody is typing or dragging is left alone.
function update(one) {
  const { box, slider, words } = boxes.get(one.path);
  say(words, one.allowed ? `${one.words} (${one.allowed})` : one.words);
  if (one.path === held || waiting.has(one.path)) return;
  if (one.kind === "flag") box.checked = one.value;
  else if (document.activeElement !== box || box.value === box.dataset.shown) {
    box.value = one.value ?? "";
    box.dataset.shown = box.value;
  }
  if (!slider) return;
  Object.assign(slider, { min: one.low, max: one.high, step: one.step, value: one.value });
  slider.setAttribute("aria-valuetext", `${one.value} ${one.unit}`);
}

const unfolded = new Set();

function showGroups() {
  const shape = ({ controls, ...group }) => [group, controls.map((one) => [one.path, one.kind, one.low != null])];
  const focus = document.activeElement.id, isOther = isNew($("groups"), state.groups.map(shape));
  if (isOther) {
    boxes.clear();
    $("groups").replaceChildren(...state.groups.map(grouped));
  }
  for (const group of state.groups) group.controls.forEach(update);
  if (isOther && focus) $(focus)?.focus();
}

function grouped(group) {
  const usual = group.controls.filter((one) => one.is_usual);
  const rest = group.controls.filter((one) => !one.is_usual);
  const head = make("div", { class: "head" }, make("h3", { id: `g-${group.path}` },
    group.kind && group.kind !== group.title ? `${group.title} (${group.kind})` : group.title));
  for (const [how, path, words] of group.changes) {
    head.append(button(words, () => command(how, { path }), { id: `${how}-${path}`, "aria-label": `${words}: ${group.title}` }));
  }
  const more = make("details", { ontoggle: () => unfolded[more.open ? "add" : "delete"](group.path) },
    make("summary", {}, `${rest.length} more of ${group.title}`), ...rest.map(control));
  more.open = unfolded.has(group.path);
  return make("div", { class: "group", role: "group", "aria-labelledby": `g-${group.path}` },
    head, ...usual.map(control), rest.length ? more : "");
}

// The state: everything but what is traced.

function showState(told) {
  state = told;
  say($("title"), told.title);
  document.title = `${told.title} – photonsim`;
  for (const way of ["undo", "redo"]) {
    $(way).disabled = !told[way];
    $(way).title = told[way];
    $(way).setAttribute("aria-label", `${way} ${told[way]}`);
  }
  $("pin").disabled = told.is_pinned;
  $("pin").title = `Compare what follows with this design. Pinned now: ${told.pinned}`;
  showGroups();
  drawSide();
  showKept(told.kept);
  options($("kind"), told.additions.map(({ words, ...what }) => [JSON.stringify(what), words]));
}

function options(list, pairs) {
  const now = list.value;
  if (!isNew(list, pairs)) return;
  list.replaceChildren(...pairs.map(([value, words]) => make("option", { value }, words)));
  if (pairs.some(([value]) => value === now)) list.value = now;
}

function showKept(kept) {
  const start = (from, name, words) => [JSON.stringify({ from, name }), words];
  options($("start"), [start("file", "", "the file"), ...state.variants.map((name) => start("variant", name, `variant ${name}`)),
    ...kept.rows.map(({ name }) => start("kept", name, `kept: ${name}`))]);
  if (!isNew($("kept"), kept)) return;
  const heads = ["design", ...kept.heads, "photons", ""].map((words) => make("th", { scope: "col" }, words));
  const rows = kept.rows.map((one) => row({ words: one.name }, [...one.cells, one.photons.toLocaleString("en"),
    button("forget", () => command("forget", { name: one.name }), { "aria-label": `forget ${one.name}` })]));
  $("kept").replaceChildren(rows.length ? make("table", {}, make("thead", {}, make("tr", {}, ...heads)), make("tbody", {}, ...rows))
    : "Nothing yet. 'Keep' puts this design here.");
}

// Answers: what was traced.

function showAnswer(told) {
  if (told.number < shownNumber) return;
  shownNumber = told.number;
  say($("lead"), `${told.lead.words} ${told.lead.text}`);
  say($("change"), told.lead.change ? `${told.lead.change} against pinned` : "this is the pinned design");
  $("figures").replaceChildren(...told.figures.map((one) => row({ words: one.words, title: one.meaning },
    [one.text, one.change, make("span", { class: one.worth.split(", ").at(-1) }, one.worth), one.pinned])));
  say($("provenance"), `${told.photons.toLocaleString("en")} photons, seed ${told.seed}; ± is one standard error`);
  say($("caveats"), told.caveats.join(" "));
  told.maps.forEach(showMap);
  $("profiles").replaceChildren(...told.profiles.map(profile));
  showLedger(told.ledger);
  fade();
  // Spoken once a figure has settled, not while it moves.
  if (told.is_settled) say($("spoken"), `${$("lead").textContent}, ${$("change").textContent}`);
}

// What comes later than the figures is pale while it is that of an earlier design.
function fade() {
  for (const one of [$("verdict"), $("seen")]) one.classList.toggle("waiting", Number(one.dataset.number) !== state.number);
}

function row(head, cells) {
  return make("tr", {}, make("th", { scope: "row", title: head.title || "" }, head.words), ...cells.map((one) => make("td", {}, one)));
}

const bytesOf = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));

// Paints steps of the scale, row by row from the top.
function paint(canvas, columns, rows, steps) {
  const image = new ImageData(columns, rows);
  steps.forEach((step, k) => image.data.set(colours[step], 4 * k));
  Object.assign(canvas, { width: columns, height: rows });
  canvas.getContext("2d").putImageData(image, 0, 0);
}

function showMap(map, k) {
  const figure = $("maps").children[k] || $("maps").appendChild(make("figure", {}, make("canvas", { role: "img" }), make("figcaption")));
  const [canvas, caption] = figure.children;
  paint(canvas, map.columns, map.rows, bytesOf(map.steps));
  for (const one of [canvas, $("seen")]) one.style.aspectRatio = `${map.width_mm} / ${map.height_mm}`;
  canvas.setAttribute("aria-label", `Map: ${map.title}. ${map.note}`);
  say(caption, `${map.title}, ${map.width_mm} × ${map.height_mm} mm\n${map.note}`);
}

// A line or an area; which of the two is coloured, and how, stands in the style sheet.
function shape(name, pairs, kind, colour) {
  const points = pairs.map(([x, y]) => `${x.toFixed(1)},${y.toFixed(1)}`).join(" ");
  return make(name, { points, class: kind, fill: colour, stroke: colour });
}

const text = (x, y, words, more = {}) => make("text", { x, y, ...more }, words);

function profile(told) {
  const [width, height, left, right, low] = [420, 200, 30, 415, 170];
  const top = Math.max(1.1, ...told.curves.flatMap((one) => one.values.map((v, k) => v + one.errors[k])));
  const y = (value) => low - Math.max(value, 0) / top * (low - 8);
  const drawn = make("svg", { viewBox: `0 0 ${width} ${height}`, role: "img",
    "aria-label": `Light along ${told.axis} over its mean: ${told.curves.map((one) => one.name).join(", ")}` });
  for (let value = 0; value <= top; value += 0.5) {
    drawn.append(make("line", { x1: left, x2: right, y1: y(value), y2: y(value), class: "grid" }),
      text(left - 4, y(value) + 4, value.toFixed(1), { "text-anchor": "end" }));
  }
  // The pinned design lies behind.
  for (const one of [...told.curves].reverse()) {
    const line = (sign) => one.values.map((v, k) => [left + (k + 0.5) / one.values.length * (right - left), y(v + sign * one.errors[k])]);
    drawn.append(shape("polygon", [...line(1), ...line(-1).reverse()], one.name, one.colour),
      shape("polyline", line(0), one.name, one.colour));
  }
  drawn.append(text(left, height - 6, `${-told.extent_mm / 2}`),
    text(right, height - 6, `${told.axis} ${told.extent_mm / 2} mm`, { "text-anchor": "end" }));
  return make("figure", {}, drawn, legend(told.curves.map((one) => [one.colour, one.name])));
}

function legend(entries) {
  return make("figcaption", { class: "legend" }, ...entries.map(([colour, words]) => make("span", {},
    make("svg", { viewBox: "0 0 14 6", "aria-hidden": "true" }, make("path", { d: "M0 3H14", stroke: colour, "stroke-width": 4 })), words)));
}

function showLedger(ledger) {
  $("ledger").replaceChildren(...ledger.groups.map((one) => {
    const bar = make("span", { class: "bar-of" });
    bar.style.width = `${100 * one.share}%`;
    bar.style.background = one.colour;
    return make("li", {}, make("span", {}, one.words), make("span", {}, one.text), make("span", {}, bar));
  }));
  say($("losses"), ledger.losses);
}

let paths = { groups: [] };

function drawSide() {
  const [width, left, flags] = [900, 34, 64], { low, high, labels, planes } = state.side;
  const scale = (width - left) / (high - low), z = (value) => left + (value - low) * scale;
  const drawn = make("svg", { role: "img", "aria-label": "The lamp to scale, seen from the side and from above" });
  let top = flags;
  for (const plane of planes) {
    const middle = plane.half * scale, place = ([along, across]) => [z(along), middle - across * scale];
    // A drawing of its own, so that light ends at its edge.
    drawn.append(make("svg", { x: 0, y: top, width, height: 2 * middle },
      make("line", { x1: left, x2: width, y1: middle, y2: middle, class: "axis" }),
      ...plane.shapes.map((one) => shape(one.area ? "polygon" : "polyline", one.points.map(place), `ink ${one.ink}`, one.colour)),
      ...paths.groups.flatMap((group) => group[plane.axis].map((one) => shape("polyline", one.map(place), group.group, group.colour))),
      text(0, middle + 4, plane.axis)));
    top += 2 * middle + left;
  }
  // Neighbours stand on lines of their own.
  labels.forEach((label, k) => {
    const x = z(label.z), y = flags - 5 - 15 * (k % 4), isFar = x > 0.8 * width;
    drawn.append(text(x, y, label.words, isFar ? { "text-anchor": "end" } : {}),
      make("line", { x1: x, x2: x, y1: y + 2, y2: flags + 6, class: "axis" }));
  });
  drawn.setAttribute("viewBox", `0 0 ${width} ${Math.round(top - left + 6)}`);
  $("side").replaceChildren(drawn, legend(paths.groups.map((group) => [group.colour, `${group.words}: ${group.count} of ${paths.of}`])));
}

const listeners = {
  answer: showAnswer,
  kept: (told) => showKept(told.kept),
  paths: (told) => { if (told.number === state.number) { paths = told; drawSide(); } },
  file: (told) => say($("remark"), told.words),
  trouble: (told) => say($("mistake"), told.words),
  verdict(told) {
    $("verdict").dataset.number = told.number;
    $("verdict").replaceChildren(...Object.entries(told.words).flatMap(([name, words]) => [make("dt", {}, name), make("dd", {}, words)]));
    fade();
  },
  async picture(told) {
    const seen = $("seen"), bitmap = told.png && await createImageBitmap(new Blob([bytesOf(told.png)]));
    seen.hidden = !bitmap;
    if (bitmap) {
      Object.assign(seen, { width: bitmap.width, height: bitmap.height });
      seen.getContext("2d").drawImage(bitmap, 0, 0);
    }
    seen.dataset.number = told.number;
    say($("seen-words"), told.words);
    fade();
  },
  errand(told) {
    const links = told.files.map((name) => make("li", {}, make("a", { href: `files/${encodeURI(name)}`, target: "_blank", rel: "noopener" }, name)));
    $("errand").replaceChildren(make("p", {}, `${told.line}${told.is_running ? " is running" : ""}`),
      make("pre", { tabindex: "0" }, told.words), make("ul", {}, ...links));
  },
};

// A browser opens six connections to a place at most: a page that nobody sees gives its own free.
let stream = null;
function listen() {
  if (document.hidden) stream?.close();
  else if (!stream || stream.readyState === EventSource.CLOSED) {
    stream = new EventSource(`events/${tab}`);
    for (const [kind, show] of Object.entries(listeners)) stream.addEventListener(kind, (event) => show(JSON.parse(event.data)));
    stream.onerror = () => say($("remark"), GONE);
    stream.onopen = () => { if ($("remark").textContent === GONE) say($("remark"), ""); };
  }
}
document.addEventListener("visibilitychange", listen);

// A page holds the lock of its tab's name for as long as it is there, so that two never take the
// same; that of a page which is loaded again may take a moment to be let go.
function hold(name) {
  return new Promise((done) => {
    const wait = { signal: AbortSignal.timeout(500) };
    navigator.locks.request(name, wait, () => { done(true); return new Promise(() => {}); }).catch(() => done(false));
  });
}

async function save() {
  const name = $("name").value;
  let told = await command("save", { name });
  if (told.exists && confirm(`There is a file ${told.exists}. Replace it? What was changed by hand moves to earlier/.`)) {
    told = await command("save", { name, over: true });
  }
  if (told.saved) { say($("remark"), `Saved as ${told.saved}.`); say($("spoken"), `Saved as ${told.saved}`); }
}

async function keep() {
  const told = await command("keep", { name: $("name").value });
  if (told.groups) say($("spoken"), `Kept as ${$("name").value}`);
}

async function begin() {
  const known = sessionStorage.getItem("tab") || "";
  const isOurs = known && await hold(known);
  const others = (await navigator.locks.query()).held.map((one) => one.name).filter((name) => !isOurs || name !== known);
  const told = await act("open", { tab: known, taken: others });
  if (!told.tab) return;
  tab = told.tab;
  if (tab !== known) hold(tab);
  sessionStorage.setItem("tab", tab);
  colours = told.map_colours;
  paint($("scale"), colours.length, 1, [...colours.keys()]);
  say($("top"), String(told.map_top));
  $("name").value = `${told.scene}_2`;
  $("commands").prepend(...told.commands.map(([name, words]) => button(words, () => command("run", { command: name }))));
  options($("picture"), [["", "the test chart"], ...told.pictures.map((name) => [name, name])]);
  say($("remark"), told.remark);
  showState(told);
  listen();
}

$("controls").addEventListener("submit", (event) => event.preventDefault());
for (const way of ["undo", "redo", "pin", "stop"]) $(way).onclick = () => command(way);
$("keep").onclick = keep;
$("save").onclick = save;
$("add").onclick = () => command("add", JSON.parse($("kind").value));
$("begin").onclick = () => command("start", JSON.parse($("start").value));
$("picture").onchange = () => command("picture", { name: $("picture").value });
document.addEventListener("keydown", (event) => {
  const isTyping = event.target.matches("input:not([type=range]):not([type=checkbox])");
  const way = { z: event.shiftKey ? "redo" : "undo", y: "redo" }[event.key.toLowerCase()];
  if (!way || isTyping || !(event.ctrlKey || event.metaKey)) return;
  event.preventDefault();
  command(way);
});
begin();
