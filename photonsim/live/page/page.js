// The page: shows what the server tells, and sends what a person changes. It works nothing out.
"use strict";

const $ = (id) => document.getElementById(id);
const SVG = "http://www.w3.org/2000/svg";
let tab = sessionStorage.getItem("tab") || "";
let palette, shownNumber = 0, wanted = 0;

// Elements are made here alone, of names and words: nothing that is told can become markup.
function make(name, attributes = {}, ...children) {
  const isDrawn = ["svg", "g", "path", "line", "polyline", "polygon", "text", "title"].includes(name);
  const one = isDrawn ? document.createElementNS(SVG, name) : document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key.startsWith("on")) one.addEventListener(key.slice(2), value);
    else if (value === true) one.setAttribute(key, "");
    else if (value !== false && value != null) one.setAttribute(key, value);
  }
  one.append(...children);
  return one;
}

// What is the same stays, so that nothing flickers and no focus is lost.
const say = (one, words) => { if (one.textContent !== words) one.textContent = words; };

async function act(name, command = {}) {
  try {
    const answer = await fetch(`do/${name}`, {
      method: "POST", headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ tab, ...command }),
    });
    if (answer.ok) return await answer.json();
    return { mistakes: [{ path: "", words: await answer.text() }] };
  } catch {
    remark("The program has ended. What you did is kept: start it again and open its new address.");
    return { mistakes: [] };
  }
}

function remark(words) { say($("remark"), words); $("remark").hidden = !words; }

// What was set before is set first.
async function command(name, what) {
  while (sending) await pause(10);
  const told = await act(name, what);
  if (told.groups) showState(told);
  showMistakes(told.mistakes || []);
  return told;
}

// Controls.

const boxes = new Map();
const waiting = new Map();
let sending = null, drag = 0;

// One change is under way at a time; of those that come meanwhile the newest of each value is next.
async function send(path, value, kind, mark) {
  waiting.set(path, { path, value, kind, mark });
  if (sending) return;
  while (([sending] = waiting.values()) && sending) {
    waiting.delete(sending.path);
    const { mark: one, ...rest } = sending;
    const told = await act("set", one ? { ...rest, mark: one } : rest);
    if (told.mistakes) showMistakes(told.mistakes, rest.path);
    else { showMistakes([]); wanted = told.number; }
    if (told.groups && !waiting.size) showState(told);
    else if (told.side) { showSide(told.side); await answered(told.number); }
  }
}

const pause = (ms) => new Promise((done) => setTimeout(done, ms));

// While one drags each answer is waited for: what is sent before it would only be overtaken.
let onAnswer = () => {};
function answered(number) {
  return new Promise((done) => {
    const late = setTimeout(done, 1000);
    onAnswer = () => { if (shownNumber >= number) { clearTimeout(late); done(); } };
    onAnswer();
  });
}

function showMistakes(mistakes, path = "") {
  for (const { box, mistake } of boxes.values()) {
    say(mistake, ""); box.removeAttribute("aria-invalid");
  }
  const elsewhere = [];
  for (const one of mistakes) {
    const found = boxes.get(one.path) || boxes.get(path);
    const words = one.path === path || !one.path ? one.words : `${one.path}: ${one.words}`;
    if (!found) { elsewhere.push(words); continue; }
    say(found.mistake, words); found.box.setAttribute("aria-invalid", "true");
  }
  say($("mistake"), elsewhere.join("; "));
}

const written = (value) => (value == null ? "" : String(value));
const rounded = (value, step) => Number((Math.round(value / step) * step).toPrecision(9));

function control(one) {
  const id = `c-${one.path}`;
  const words = make("p", { class: "words", id: `${id}-w` });
  const mistake = make("p", { class: "mistake", id: `${id}-m`, role: "alert" });
  const about = { id, "aria-describedby": `${id}-w ${id}-m` };
  let box, slider = null;
  if (one.kind === "choice") {
    const choices = one.value == null ? ["", ...one.choices] : one.choices;
    box = make("select", { ...about, onchange: () => send(one.path, box.value, "choice") },
      ...choices.map((name) => make("option", { value: name }, name.replaceAll("_", " "))));
  } else if (one.kind === "flag") {
    box = make("input", { ...about, type: "checkbox",
      onchange: () => send(one.path, box.checked, "flag") });
  } else {
    box = make("input", { ...about, inputmode: one.kind === "list" ? "text" : "decimal",
      autocomplete: "off", placeholder: one.default === "left out" ? "–" : one.default,
      onchange: () => {
        const typed = Number(box.value.replace(",", "."));
        if (slider && box.value && Number.isFinite(typed)) slider.value = typed;
        send(one.path, box.value, one.kind);
      } });
  }
  if (one.low != null) {
    slider = make("input", { type: "range", step: "any", "aria-label": `${one.label}, slider`,
      tabindex: "0", "aria-describedby": `${id}-w` });
    slider.addEventListener("input", () => move(Number(slider.value)));
    slider.addEventListener("pointerdown", () => { drag += 1; });
    slider.addEventListener("change", () => settle());
    slider.addEventListener("keydown", (event) => {
      const far = event.shiftKey || event.key.startsWith("Page") ? 10 : 1;
      const way = { ArrowRight: 1, ArrowUp: 1, PageUp: 1, ArrowLeft: -1, ArrowDown: -1, PageDown: -1 };
      if (!(event.key in way)) return;
      event.preventDefault();
      if (!event.repeat) drag += 1;
      const now = rounded(Number(slider.value) + way[event.key] * far * slider.dataset.step,
        slider.dataset.step);
      slider.value = Math.min(Math.max(now, slider.min), slider.max);
      move(Number(slider.value));
    });
    slider.addEventListener("keyup", (event) => { if (event.key.startsWith("Arrow")) settle(); });
  }
  let last = null;
  const move = (value) => {
    const step = Number(slider.dataset.step);
    last = Math.min(Math.max(rounded(value, step), slider.min), slider.max);
    box.value = written(last);
    slider.setAttribute("aria-valuetext", `${box.value} ${one.unit}`);
    send(one.path, last, one.kind, `${one.path} ${drag}`);
  };
  // The same value once more, without the haste of a drag: the whole state comes back.
  const settle = () => { if (last != null) { refresh(); last = null; } };
  const line = make("div", { class: "control" }, make("label", { for: id }, one.label), box,
    make("span", {}, one.unit), slider || "", words, mistake);
  boxes.set(one.path, { box, slider, mistake, words });
  return line;
}

let due = 0;
function refresh() {
  clearTimeout(due);
  due = setTimeout(async () => {
    if (sending) return refresh();
    const told = await act("state");
    if (told.groups && !sending) showState(told);
  }, 150);
}

function update(one) {
  const { box, slider, words } = boxes.get(one.path);
  say(words, `${one.words}${one.allowed ? ` (${one.allowed})` : ""}`);
  if (one.kind === "flag") box.checked = one.value;
  else if (document.activeElement !== box || box.value === "" || one.kind === "choice"
    || !box.hasAttribute("aria-invalid")) box.value = written(one.value);
  if (!slider) return;
  slider.min = one.low; slider.max = one.high; slider.value = one.value;
  slider.dataset.step = one.step;
  slider.setAttribute("aria-valuetext", `${one.value} ${one.unit}`);
}

const folds = new Set();
let builtOf = "";

function showGroups(groups, kinds) {
  const shape = JSON.stringify(groups.map((group) => [group.path, group.kind, group.cut,
    group.controls.map((one) => [one.path, one.kind, one.low != null, one.value == null])]));
  if (shape !== builtOf) {
    builtOf = shape; boxes.clear();
    const focus = document.activeElement && document.activeElement.id;
    $("groups").replaceChildren(...groups.map((group) => grouped(group, kinds)));
    if (focus && $(focus)) $(focus).focus();
  }
  for (const group of groups) group.controls.forEach(update);
}

function grouped(group, kinds) {
  const usual = group.controls.filter((one) => one.is_usual);
  const rest = group.controls.filter((one) => !one.is_usual);
  const name = group.path.replace(/^train\./, "");
  const sheet = (how, words, more) => make("button", { type: "button", id: `${how}-${name}`,
    "aria-label": `${words}: ${name}`, onclick: () => command("sheet", { how, name, ...more }) }, words);
  const head = make("div", { class: "head" }, make("h3", { id: `g-${group.path}` },
    group.kind && group.kind !== group.title ? `${group.title} (${group.kind})` : group.title));
  if (group.cut) head.append(group.cut === "whole" ? sheet("cut", "cut to strips") : sheet("whole", "make whole"));
  if (group.is_part) {
    if (group.cut) {
      const other = make("select", { id: `r-${name}`, "aria-label": `another kind for ${name}`,
        onchange: () => command("sheet", { how: "replace", name, kind: other.value }) },
        make("option", { value: "" }, "change to"),
        ...kinds.filter((one) => one.words !== group.kind)
          .map((one) => make("option", { value: one.kind }, one.words)));
      head.append(other);
    }
    head.append(sheet("swap", "swap with next"), sheet("remove", "take out"));
  }
  const more = make("details", { ontoggle: () => folds[more.open ? "add" : "delete"](group.path) },
    make("summary", {}, `${rest.length} more of ${group.title}`), ...rest.map(control));
  more.open = folds.has(group.path);
  return make("div", { class: "group", role: "group", "aria-labelledby": `g-${group.path}` },
    head, ...usual.map(control), rest.length ? more : "");
}

// The state: everything but what is traced.

function showState(told) {
  wanted = told.number;
  say($("title"), told.title);
  document.title = `${told.title} – photonsim`;
  for (const way of ["undo", "redo"]) {
    $(way).disabled = !told[way];
    $(way).title = told[way];
    $(way).setAttribute("aria-label", `${way === "undo" ? "Undo" : "Redo"} ${told[way]}`);
  }
  $("pin").disabled = told.is_pinned;
  $("pin").title = `pinned: ${told.pinned}`;
  showGroups(told.groups, told.kinds);
  showSide(told.side);
  showKept(told.kept);
  options($("kind"), told.kinds.map((one) => [one.kind, one.words]));
  options($("start"), [["file", "the file"], ...told.variants.map((name) => [`variant ${name}`, `variant ${name}`]),
    ...told.kept.rows.map((row) => [`kept ${row.name}`, `kept: ${row.name}`])]);
  if (!$("commands").childElementCount) {
    $("commands").append(...told.commands.map((name) => make("button", { type: "button",
      onclick: () => command("run", { command: name }) }, { cut: "cutting sheet" }[name] || name)),
    make("button", { type: "button", onclick: () => command("stop") }, "stop"));
  }
}

function options(list, pairs) {
  const now = list.value;
  if (JSON.stringify(pairs) === list.dataset.pairs) return;
  list.dataset.pairs = JSON.stringify(pairs);
  list.replaceChildren(...pairs.map(([value, words]) => make("option", { value }, words)));
  if (pairs.some(([value]) => value === now)) list.value = now;
}

function showKept(kept) {
  const shape = JSON.stringify(kept);
  if ($("kept").dataset.shape === shape) return;
  $("kept").dataset.shape = shape;
  if (!kept.rows.length) { say($("kept"), "Nothing yet. 'Keep' puts this design here."); return; }
  const cell = (words) => make("td", {}, words);
  $("kept").replaceChildren(make("table", {},
    make("thead", {}, make("tr", {}, ...["design", ...kept.heads, "photons", ""].map((words) =>
      make("th", { scope: "col" }, words)))),
    make("tbody", {}, ...kept.rows.map((row) => make("tr", {}, make("th", { scope: "row" }, row.name),
      ...row.cells.map(cell), cell(row.photons.toLocaleString("en")),
      make("td", {}, make("button", { type: "button", "aria-label": `forget ${row.name}`,
        onclick: () => command("forget", { name: row.name }) }, "forget")))))));
}

// Answers: what was traced.

function showAnswer(told) {
  if (told.number < shownNumber) return;
  shownNumber = told.number;
  say($("lead"), `${told.lead.words} ${told.lead.text}`);
  say($("change"), told.lead.change ? `${told.lead.change} against pinned` : "this is the pinned design");
  showFigures(told.figures);
  say($("provenance"), `${told.photons.toLocaleString("en")} photons, seed ${told.seed}; ± is one standard error`);
  say($("caveats"), told.caveats.join(" ")); $("caveats").hidden = !told.caveats.length;
  told.maps.forEach(showMap);
  told.profiles.forEach(showProfile);
  showLedger(told.ledger);
  for (const id of ["verdict", "seen"]) $(id).classList.toggle("waiting", Number($(id).dataset.number) !== told.number);
  onAnswer();
  // Spoken once a figure has settled, not while it moves.
  if (told.is_settled) say($("spoken"), `${$("lead").textContent}, ${$("change").textContent}`);
}

function showFigures(figures) {
  const body = $("figures");
  if (body.childElementCount !== figures.length) {
    body.replaceChildren(...figures.map((one) => make("tr", {}, make("th", { scope: "row", title: one.meaning }),
      make("td"), make("td"), make("td"), make("td"))));
  }
  figures.forEach((one, place) => {
    const cells = body.children[place].children;
    const worth = !one.change ? "" : one.is_real ? { 1: "real, better", "-1": "real, worse", 0: "real" }[one.way] : "not shown";
    [one.words, one.text, one.change, worth, one.pinned].forEach((words, k) => say(cells[k], words));
    cells[3].className = { "real, better": "better", "real, worse": "worse", real: "real" }[worth] || "";
  });
}

function figure(room, key) {
  let found = [...room.children].find((one) => one.dataset.key === key);
  if (!found) { found = make("figure", { "data-key": key }); room.append(found); }
  return found;
}

function showMap(map) {
  const room = figure($("maps"), map.kind);
  if (!room.childElementCount) room.append(make("canvas", { role: "img" }), make("figcaption"));
  const [canvas, caption] = room.children;
  const steps = Uint8Array.from(atob(map.steps), (letter) => letter.charCodeAt(0));
  if (canvas.width !== map.columns || canvas.height !== map.rows) { canvas.width = map.columns; canvas.height = map.rows; }
  // Row 0 is the lowest.
  const image = new ImageData(map.columns, map.rows);
  for (let row = 0; row < map.rows; row += 1) for (let column = 0; column < map.columns; column += 1) {
    const colour = palette.rgb[steps[(map.rows - 1 - row) * map.columns + column]];
    image.data.set([...colour, 255], 4 * (row * map.columns + column));
  }
  canvas.getContext("2d").putImageData(image, 0, 0);
  canvas.style.aspectRatio = `${map.width_mm} / ${map.height_mm}`;
  canvas.setAttribute("aria-label", `Map: ${map.title}. ${map.note}`);
  say(caption, `${map.title}, ${map.width_mm} × ${map.height_mm} mm\n${map.note}`);
}

const points = (pairs) => pairs.map(([x, y]) => `${x.toFixed(1)},${y.toFixed(1)}`).join(" ");

function showProfile(told) {
  const [width, height, left, low] = [420, 200, 30, 170];
  const top = Math.max(1.1, ...told.curves.flatMap((one) => one.values.map((v, k) => v + one.errors[k])));
  const x = (k, n) => left + (k + 0.5) / n * (width - left - 5);
  const y = (value) => low - value / top * (low - 8);
  const drawn = make("svg", { viewBox: `0 0 ${width} ${height}`, role: "img",
    "aria-label": `Light along ${told.axis} over its mean: ${told.curves.map((one) => one.name).join(", ")}` });
  for (let value = 0; value <= top; value += 0.5) {
    drawn.append(make("line", { x1: left, x2: width - 5, y1: y(value), y2: y(value), class: "grid", stroke: "currentColor", "stroke-opacity": 0.15 }),
      make("text", { x: left - 4, y: y(value) + 4, "text-anchor": "end" }, value.toFixed(1)));
  }
  // The pinned design lies behind.
  for (const one of [...told.curves].reverse()) {
    const colour = palette.inks[one.name], n = one.values.length;
    const up = one.values.map((v, k) => [x(k, n), y(v + one.errors[k])]);
    const down = one.values.map((v, k) => [x(k, n), y(Math.max(v - one.errors[k], 0))]).reverse();
    drawn.append(make("polygon", { points: points([...up, ...down]), fill: colour, "fill-opacity": 0.25 }),
      make("polyline", { points: points(one.values.map((v, k) => [x(k, n), y(v)])), fill: "none", stroke: colour,
        "stroke-width": 1.6, "stroke-dasharray": { collected: "7 2 1 2", pinned: "4 3" }[one.name] || "none" }));
  }
  drawn.append(make("text", { x: left, y: height - 6 }, `${-told.extent_mm / 2}`),
    make("text", { x: width - 5, y: height - 6, "text-anchor": "end" }, `${told.axis} ${told.extent_mm / 2} mm`));
  const legend = told.curves.map((one) => make("span", {}, swatch(palette.inks[one.name]), `${one.name} `));
  figure($("profiles"), told.axis).replaceChildren(drawn, make("figcaption", {}, ...legend, "over its own mean; bands: ± standard error"));
}

function swatch(colour) {
  const drawn = make("svg", { viewBox: "0 0 14 6", "aria-hidden": "true" }, make("path", { d: "M0 3H14", stroke: colour, "stroke-width": 4 }));
  drawn.style.cssText = "display:inline-block;width:1.2em;height:.6em;margin:0 .25em";
  return drawn;
}

function showLedger(ledger) {
  const list = $("ledger");
  list.replaceChildren(...ledger.groups.map((one) => {
    const bar = make("span", { class: "bar-of" });
    bar.style.width = `${100 * one.share}%`;
    bar.style.background = palette.groups[one.group].colour;
    return make("li", {}, make("span", {}, palette.groups[one.group].words), make("span", {}, bar), make("span", {}, one.text));
  }));
  say($("losses"), `Most by: ${ledger.losses.map((one) => `${one.name} ${one.text}`).join(", ")}`);
}

let side = null, paths = null;

function showSide(told) { if (told) side = told; drawSide(); }

function drawSide() {
  const [width, left, gap] = [900, 34, 34];
  const scale = (width - left) / (side.high - side.low);
  const flags = 16 * 3;
  let top = flags;
  const drawn = make("svg", { role: "img", "aria-label": "The lamp to scale, seen from the side and from above" });
  const z = (value) => left + (value - side.low) * scale;
  for (const plane of side.planes) {
    const middle = plane.half * scale, place = ([along, across]) => [z(along), middle - across * scale];
    // A drawing of its own, so that light ends at its edge.
    const room = make("svg", { x: 0, y: top, width, height: 2 * middle });
    room.append(make("line", { x1: left, x2: width, y1: middle, y2: middle, stroke: "currentColor", "stroke-opacity": 0.3, "stroke-dasharray": "8 2 1 2" }),
      ...plane.shapes.map((shape) => inked(shape, shape.points.map(place))));
    for (const group of paths ? paths.groups : []) for (const one of group[plane.axis]) {
      const isUseful = group.group === "stop";
      room.append(make("polyline", { points: points(one.map(place)), fill: "none", stroke: palette.groups[group.group].colour,
        "stroke-opacity": isUseful ? 0.9 : 0.6, "stroke-width": isUseful ? 1.3 : 0.8 }));
    }
    room.append(make("text", { x: 0, y: middle + 4 }, plane.axis));
    drawn.append(room);
    top += 2 * middle + gap;
  }
  const ends = [-9e9, -9e9, -9e9];
  for (const label of side.labels) {
    const words = make("text", { "font-size": 11 }, label.words), long = 6.2 * label.words.length;
    const x = Math.min(z(label.z), width - long);
    const tier = ends.findIndex((end) => end < x);
    const k = tier < 0 ? 2 : tier;
    ends[k] = x + long + 6;
    words.setAttribute("x", x); words.setAttribute("y", flags - 5 - 15 * k);
    drawn.append(words, make("line", { x1: z(label.z), x2: z(label.z), y1: flags - 3 - 15 * k, y2: flags + 6, stroke: "currentColor", "stroke-opacity": 0.4 }));
  }
  drawn.setAttribute("viewBox", `0 0 ${width} ${Math.round(top - gap + 6)}`);
  $("side").replaceChildren(drawn);
  if (paths) $("legend").replaceChildren(...paths.groups.map((group) => make("span", {}, swatch(palette.groups[group.group].colour),
    `${palette.groups[group.group].words}: ${group.count} of ${paths.of} `)));
}

function inked(shape, at) {
  const [ink, dashed] = shape.ink.split(" ");
  if (shape.area) return make("polygon", { points: points(at), fill: palette.inks[ink], "fill-opacity": 0.6, stroke: "currentColor" });
  const thick = { wall: 3, frame: 3, open: 1, gap: 0.6, lens: 1.4, panel: 2.5 }[ink] || 4;
  return make("polyline", { points: points(at), fill: "none", stroke: palette.inks[ink] || "currentColor", "stroke-width": thick,
    "stroke-dasharray": ink === "open" ? "2 3" : dashed ? "9 2" : "none" });
}

const listeners = {
  answer: showAnswer,
  kept: (told) => showKept(told.kept),
  paths: (told) => { if (told.number === wanted) { paths = told; drawSide(); } },
  file: (told) => remark(told.words),
  trouble: (told) => say($("mistake"), told.words),
  verdict(told) {
    $("verdict").dataset.number = told.number;
    $("verdict").classList.toggle("waiting", told.number !== wanted);
    $("verdict").replaceChildren(...Object.entries(told.words).flatMap(([name, words]) =>
      [make("dt", {}, name), make("dd", {}, words)]));
  },
  picture(told) {
    say($("seen-words"), told.words);
    $("seen").dataset.number = told.number;
    $("seen").hidden = !told.address;
    if (told.address) { $("seen").src = `${told.address}?${Date.now()}`; $("seen").classList.toggle("waiting", told.number !== wanted); }
  },
  errand(told) {
    const links = told.files.map((name) => make("li", {}, make("a", { href: `files/${encodeURI(name)}`, target: "_blank", rel: "noopener" }, name)));
    $("errand").replaceChildren(make("p", {}, `${told.line}${told.is_running ? " is running" : ""}`),
      ...(told.words ? [make("pre", { tabindex: "0" }, told.words)] : []), make("ul", {}, ...links));
  },
};

let stream = null;
function listen() {
  if (stream || document.hidden) return;
  stream = new EventSource(`events/${tab}`);
  for (const [kind, show] of Object.entries(listeners)) {
    stream.addEventListener(kind, (event) => show(JSON.parse(event.data)));
  }
  stream.onerror = () => remark("The program does not answer. If it has ended, start it again; what you did is kept.");
  stream.onopen = () => { if ($("remark").textContent.startsWith("The program")) remark(""); };
}

// A browser opens six connections to a place at most: a page that nobody sees gives its own free.
document.addEventListener("visibilitychange", () => {
  if (document.hidden && stream) { stream.close(); stream = null; } else listen();
});

// Other pages of this lamp say which tabs they have, so that two never take the same.
const others = new BroadcastChannel("photonsim");
others.onmessage = (event) => { if (event.data === "who is there?" && tab) others.postMessage({ tab }); };

async function takenTabs() {
  const taken = [];
  const asking = new BroadcastChannel("photonsim");
  asking.onmessage = (event) => { if (event.data.tab) taken.push(event.data.tab); };
  asking.postMessage("who is there?");
  const own = tab;
  tab = "";
  await pause(120);
  asking.close();
  tab = own;
  return taken;
}

async function pictureOf(file) {
  const bitmap = await createImageBitmap(file);
  const scale = Math.min(1, 1280 / Math.max(bitmap.width, bitmap.height));
  const canvas = new OffscreenCanvas(Math.max(2, Math.round(bitmap.width * scale)), Math.max(2, Math.round(bitmap.height * scale)));
  const context = canvas.getContext("2d");
  context.drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  const { data } = context.getImageData(0, 0, canvas.width, canvas.height);
  const plain = new Uint8Array(data.length / 4 * 3);
  for (let k = 0; k < data.length / 4; k += 1) for (let c = 0; c < 3; c += 1) plain[3 * k + c] = data[4 * k + c] * data[4 * k + 3] / 255;
  return { shape: `${canvas.width}x${canvas.height}`, plain };
}

async function takePicture(shape, plain) {
  await fetch(`picture/${tab}?${shape}`, { method: "POST", headers: { "Content-Type": "application/octet-stream" }, body: plain });
}

async function save() {
  const name = $("name").value;
  let told = await command("save", { name });
  if (told.exists && confirm(`There is a file ${told.exists}. Replace it? What was changed by hand moves to earlier/.`)) {
    told = await command("save", { name, over: true });
  }
  if (told.saved) { remark(`Saved as ${told.saved}.`); say($("spoken"), `Saved as ${told.saved}`); }
}

async function keep() {
  const told = await command("keep", { name: $("name").value });
  if (!told.mistakes) say($("spoken"), `Kept as ${$("name").value}`);
}

async function begin() {
  tab = sessionStorage.getItem("tab") || "";
  const taken = await takenTabs();
  const told = await act("open", { tab, taken });
  if (!told.tab) return;
  tab = told.tab;
  sessionStorage.setItem("tab", tab);
  palette = told.palette;
  palette.rgb = palette.map.map((hex) => [1, 3, 5].map((at) => parseInt(hex.slice(at, at + 2), 16)));
  const scale = $("scale").getContext("2d");
  palette.map.forEach((colour, k) => { scale.fillStyle = colour; scale.fillRect(k, 0, 1, 1); });
  say($("top"), String(palette.map_top));
  $("name").value = `${told.scene}_2`;
  remark(told.remark);
  showState(told);
  listen();
}

$("controls").addEventListener("submit", (event) => event.preventDefault());
$("undo").onclick = () => command("undo");
$("redo").onclick = () => command("redo");
$("pin").onclick = () => command("pin");
$("keep").onclick = keep;
$("save").onclick = save;
$("add").onclick = () => command("sheet", { how: "add", kind: $("kind").value });
$("begin").onclick = () => {
  const [from, ...name] = $("start").value.split(" ");
  command("start", { from, name: name.join(" ") });
};
$("file").onchange = async () => {
  const [file] = $("file").files;
  if (!file) return;
  try { const { shape, plain } = await pictureOf(file); await takePicture(shape, plain); } catch { remark(`${file.name} is no picture that this browser can read.`); }
};
$("chart").onclick = () => { $("file").value = ""; takePicture("", new Uint8Array()); };
document.addEventListener("keydown", (event) => {
  const isTyping = event.target.matches("input:not([type=range]):not([type=checkbox])");
  if (!(event.ctrlKey || event.metaKey) || isTyping) return;
  const way = event.key.toLowerCase() === "z" ? (event.shiftKey ? "redo" : "undo") : event.key.toLowerCase() === "y" ? "redo" : "";
  if (way) { event.preventDefault(); command(way); }
});
begin();
