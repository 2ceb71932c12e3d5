// The counter's page: entry, answer, visits kept. All words come from the tables; what a person typed is only ever text.
const tables = JSON.parse(document.getElementById("tables").textContent);
const model = Model.of(tables), slipper = Slips.of(tables.slips), WHEELS = ["LF", "RF", "LR", "RR"], ALL = [...WHEELS, "SP"];
const by = (id) => document.getElementById(id);
const SPOKEN = Object.keys(tables.words);
let units = tables.units, language = SPOKEN.includes(document.documentElement.lang) ? document.documentElement.lang : SPOKEN[0];
let wide = 0, fitLine = "", wheel = "LF", editing = null, base = null, visits = [], said = null, doubted = "", settled = Promise.resolve();
const accepted = new Set(), costs = {};

const word = (code, values) => Say.fill(tables.words[language].counter[code], values || {});
const Say = { fill: (text, values) => text.replace(/{(\w+)}/g, (_, name) => String(values[name])) };
const per = (kind) => tables.per[units][kind];
const label = (kind) => tables.words[language].labels[units][kind];
const today = () => {
  const now = new Date();
  return Math.round(Date.UTC(now.getFullYear(), now.getMonth(), now.getDate()) / 86400000);
};
// Words of the package for this language and these units.
const talk = () => Words.of({
  texts: tables.words[language].pages, units, as_of: today(), per: { km: per("distance"), mm: per("depth"), kpa: per("pressure") },
  labels: { km: label("distance"), kpa: label("pressure") },
});
const dayForms = {};
const day = (n) => {
  const tongue = language === "en" && units === "us" ? "en-US" : language === "en" ? "en-GB" : language;
  if (!dayForms[tongue]) dayForms[tongue] = new Intl.DateTimeFormat(tongue, { day: "numeric", month: "long", year: "numeric", timeZone: "UTC" });
  return dayForms[tongue].format(new Date(n * 86400000));
};
const plain = (value) => talk().habit(String(Math.round(value * 1e4) / 1e4));
const grouped = (value) => talk().number(value, 0);
const point = () => tables.words[language].pages["point-" + units];
const example = (kind) => word(kind + "-example-" + units);
function make(tag, text, more) {
  const one = document.createElement(tag);
  if (text !== undefined && text !== null) one.textContent = text;
  for (const [name, value] of Object.entries(more || {})) if (value !== null) one.setAttribute(name, value);
  return one;
}
function list(sentences) {
  const one = make("ul");
  for (const text of sentences) one.append(make("li", text));
  return one;
}

// What was typed, as numbers, or a problem as a code with its arguments.
function readDepths(text) {
  const parts = text.trim().split(/[\s/;]+/).filter((part) => part), deepest = tables.deepest_mm / per("depth");
  if (parts.length > 5) return { problem: "bad-grooves", values: { count: parts.length } };
  const values = [];
  for (let part of parts) {
    if (point() === "," && /^[-+]?\d*,\d+$/.test(part)) part = part.replace(",", ".");
    if (/^\d+(,\d+)+$/.test(part)) return { problem: "bad-comma", values: { value: part, example: example("comma") } };
    if (!/^[-+]?(\d+\.?\d*|\.\d+)$/.test(part)) return { problem: "bad-number", values: { value: part, example: example("number") } };
    const value = Number(part);
    if (value < 0) return { problem: "bad-negative", values: { value: part } };
    if (value > deepest + 1e-9)
      return { problem: "bad-deep", values: { value: part, unit: label("depth"), most: plain(Math.floor(deepest)) } };
    values.push(value);
  }
  return { values };
}
function readNumber(text, low, high) {
  const comma = point() === ",", sign = comma ? "." : ",";
  const sets = new RegExp("^(\\d{1,3}(?:[ \u00a0" + sign + "]\\d{3})+)([" + point() + "]\\d+)?$");
  let bare = text.trim().replace(sets, (_, whole, rest) => whole.replace(/[^\d]/g, "") + (rest || ""));
  if (comma && /^[-+]?\d*,\d+$/.test(bare)) bare = bare.replace(",", ".");
  if (!bare) return { value: null };
  if (!/^[-+]?(\d+\.?\d*|\.\d+)$/.test(bare)) return { problem: "bad-number", values: { value: text.trim(), example: example("number") } };
  const value = Number(bare);
  if (value < low || value > high) return { problem: "bad-range", values: { value: text.trim(), low: grouped(low), high: grouped(high) } };
  return { value };
}

// Fields of what else is known; each may stay empty.
const FACTS = [
  { id: "distance", kind: "number", low: 0, high: 500000, unit: "distance" }, { id: "year", kind: "number", low: 1, high: 500000, unit: "distance" },
  { id: "line", kind: "line" }, { id: "new", kind: "depth" }, { id: "place", kind: "place" },
  { id: "drive", kind: "choice", options: [["front", "drive-front"], ["rear", "drive-rear"], ["all", "drive-all"]] },
  { id: "roads", kind: "choice", options: [["usual", "roads-usual"], ["town", "roads-town"], ["highway", "roads-highway"]] },
  { id: "stops", kind: "choice", options: [["few", "few"], ["usual", "usual"], ["many", "many"]] },
  { id: "turns", kind: "choice", options: [["few", "few"], ["usual", "usual"], ["many", "many"]] },
  { id: "rotated", kind: "choice", options: [["yes", "yes"], ["no", "no"]] }, { id: "removal", kind: "depth" },
  { id: "set", kind: "choice", options: Object.keys(tables.sets).map((name) => [name, "set-" + name]) },
];
const OF_HISTORY = ["distance", "line", "new", "drive"];
function option(select, value, text) { select.append(make("option", text, { value })); }
function buildFacts() {
  const held = Object.fromEntries(FACTS.map((f) => [f.id, by("f-" + f.id) ? by("f-" + f.id).value : ""]));
  by("facts").replaceChildren();
  for (const f of FACTS) {
    const box = make("label"), input = make(f.kind === "number" || f.kind === "depth" ? "input" : "select", null, { id: "f-" + f.id });
    const unit = f.unit ? label("distance") : "", name = word("fact-" + f.id, { unit: unit.charAt(0).toUpperCase() + unit.slice(1) });
    box.append(make("span", name + (f.kind === "depth" ? ", " + label("depth") : "")), input);
    if (input.tagName === "INPUT") { input.inputMode = "decimal"; input.autocomplete = "off"; } else {
      if (f.kind !== "place") option(input, "", word("not-told"));
      if (f.kind === "line") for (const name of Object.keys(tables.lines).filter((n) => n).sort()) option(input, name, name);
      if (f.kind === "place") for (const name of Object.keys(tables.limits)) option(input, name, name);
      if (f.kind === "choice") for (const [value, code] of f.options) option(input, value, word(code));
    }
    input.value = held[f.id] || (f.kind === "place" ? tables.places[units] : "");
    input.addEventListener("input", show);
    box.append(make("small", "", { id: "c-" + f.id, class: "cost" }));
    by("facts").append(box);
  }
}
function buildWheels() {
  const held = Object.fromEntries(ALL.map((p) => [p, by("d-" + p) ? by("d-" + p).value : ""]));
  by("wheels").replaceChildren();
  for (const p of ALL) {
    const box = make("label", null, { class: p === "SP" ? "wheel spare" : "wheel", "data-at": p });
    const input = make("input", null, { id: "d-" + p, inputmode: "decimal", autocomplete: "off" });
    input.value = held[p];
    input.addEventListener("focus", () => mark(p));
    input.addEventListener("input", show);
    box.append(make("span", word("wheel-" + p)), input);
    by("wheels").append(box);
  }
  mark(wheel);
}
function mark(p) {
  wheel = p;
  for (const box of by("wheels").children) box.dataset.on = box.dataset.at === p ? "yes" : "no";
  by("reading").textContent = word("now-reading", { wheel: word("wheel-" + p) });
}
// One touch a wheel: a whole step of the gauge, and the mark goes on to the next wheel.
function buildPad() {
  const pad = by("pad"), most = units === "us" ? 16 : 11;
  pad.replaceChildren();
  pad.setAttribute("aria-label", word("pad"));
  const touch = (text, act, name, wide) => {
    const one = make("button", text, { type: "button", "data-touch": text, "aria-label": name || null, class: wide ? "wide" : null });
    one.addEventListener("click", act);
    pad.append(one);
  };
  const put = (text, go) => {
    by("d-" + wheel).value = text;
    if (go) {
      const next = WHEELS.find((p) => !by("d-" + p).value);
      if (next) mark(next);
    }
    show();
  };
  for (let i = units === "us" ? 1 : 0; i <= most; i++) touch(String(i), () => { last = wheel; put(String(i), true); });
  let last = null;
  const whole = (p) => by("d-" + p).value.trim().replace(/\.\d*$/, "");
  const add = (part) => {
    const p = last !== null ? last : wheel, now = whole(p);
    if (/^\d+$/.test(now)) { by("d-" + p).value = now + part; show(); }
  };
  if (units === "us") touch("½", () => add(".5"), word("half"));
  else for (let i = 1; i <= 9; i++) touch("." + i, () => add("." + i));
  touch(word("clear"), () => { by("d-" + wheel).value = ""; last = null; show(); }, null, true);
}
function buildKeep() {
  const held = Object.fromEntries(["vehicle", "odometer", "note"].map((n) => [n, by("k-" + n) ? by("k-" + n).value : ""]));
  by("keep").replaceChildren();
  for (const name of ["vehicle", "odometer", "note"]) {
    const box = make("label"), input = make("input", null, { id: "k-" + name, maxlength: "120", autocomplete: "off" });
    if (name === "odometer") input.inputMode = "decimal";
    input.value = held[name];
    input.addEventListener("input", () => {
      doubted = "";
      by("keep-asked").replaceChildren();
      if (name !== "note") show();
    });
    box.append(make("span", word("keep-" + name, { unit: label("distance") })), input);
    if (name === "vehicle" && tables.cars) {
      const names = make("datalist", null, { id: "cars" });
      for (const one of Object.keys(tables.cars)) names.append(make("option", null, { value: one }));
      input.setAttribute("list", "cars");
      box.append(names);
    }
    by("keep").append(box);
  }
  const button = make("button", word(editing ? "keep-changes" : doubted ? "keep-anyway" : "keep"), { type: "submit", class: "main", id: "keep-it" });
  by("keep").append(button);
}

function entered() {
  const problems = [], raw = {}, least = {}, limits = limitsNow(), number = {};
  for (const p of ALL) {
    const found = readDepths(by("d-" + p).value);
    if (found.problem) problems.push(word(found.problem, Object.assign({ field: word("wheel-" + p) }, found.values)));
    else if (found.values.length) { raw[p] = found.values; least[p] = Math.min(...found.values) * per("depth"); }
  }
  for (const f of FACTS.filter((f) => f.kind === "number" || f.kind === "depth")) {
    const text = by("f-" + f.id).value, name = by("f-" + f.id).previousSibling.textContent;
    const high = f.kind === "depth" ? tables.deepest_mm / per("depth") : f.high;
    const low = f.id === "new" ? 2 / per("depth") : f.low || 0, found = readNumber(text, low, high);
    if (found.problem) problems.push(word(found.problem, Object.assign({ field: name }, found.values)));
    number[f.id] = found.problem || found.value === null ? null : found.value * per(f.kind === "depth" ? "depth" : "distance");
  }
  if (number.removal !== null) for (const p of ALL) limits[p] = number.removal;
  const choice = (id) => by("f-" + id).value;
  const before = number.distance === null && choice("rotated") !== "yes" ? lastVisit(least) : null;
  return { problems, raw, before, visit: {
    least_mm: least, limit_mm: limits, as_of: today(), distance_km: before ? before.km : number.distance, km_per_year: number.year,
    new_depth_mm: number.new, line: choice("line"), drive: choice("drive"), roads: choice("roads") || "usual",
    stops: choice("stops") || "usual", turns: choice("turns") || "usual",
    rotated: choice("rotated") === "" ? null : choice("rotated") === "yes", ahead: null, before_mm: before ? before.depths : null,
    set_now: choice("set"), ...carNow(raw),
  }, own: number.removal !== null };
}
const named = () => (by("k-vehicle") ? by("k-vehicle").value.trim().replace(/\s+/g, " ") : "");
// A car of the shop's log, by the name below: its odometer, and the means of its grooves.
function carNow(raw) {
  const name = named(), known = Object.keys(tables.cars || {}).find((one) => one.toUpperCase() === name.toUpperCase());
  const odometer = known ? readNumber(by("k-odometer").value, 0, 2000000) : { value: null }, mean = {}, grooves = {};
  for (const [p, values] of Object.entries(raw)) {
    mean[p] = values.reduce((s, v) => s + v, 0) / values.length * per("depth");
    grooves[p] = values.length;
  }
  const km = odometer.problem || odometer.value === null ? null : odometer.value * per("distance");
  return { car: known || "", odometer_km: km, mean_mm: mean, grooves };
}
// The last visit that this device keeps of the car named below.
function lastKept() {
  const mine = visits.filter((v) => v.vehicle === named() && !v.withdrawn && v.date < Draws.iso(today())).sort((a, b) => (a.date < b.date ? 1 : -1));
  return editing || !mine.length ? null : mine[0];
}
// The same, if the same tires seem to stand where they stood.
function lastVisit(least) {
  const name = named(), now = name ? readNumber(by("k-odometer").value, 0, 2000000) : {};
  if (editing || now.value === null || now.value === undefined) return null;
  const mine = visits.filter((v) => v.vehicle === name && !v.withdrawn && v.date < Draws.iso(today())).sort((a, b) => (a.date < b.date ? 1 : -1));
  if (!mine.length) return null;
  const scale = tables.per[mine[0].units], km = now.value * per("distance") - mine[0].odometer * scale.distance, depths = {};
  for (const p of WHEELS.filter((p) => p in least)) {
    if (!mine[0].depths[p]) return null;
    depths[p] = Math.min(...mine[0].depths[p]) * scale.depth;
    if (least[p] > depths[p] + tables.tolerance_mm / 2) return null;
  }
  return km >= tables.least_since_km ? { depths, km, day: mine[0].date } : null;
}
// The day that the limit is asked for: today, or of a set in store the strictest of its season.
function limitDay() {
  const turn = model.turnOf({ set_now: by("f-set").value, as_of: today() });
  if (!turn || turn.on) return today();
  const goes = today() + Math.ceil(turn.until);
  let strictest = goes;
  for (let n = goes; n < goes + turn.mounted; n++) if (limitsOn(n).SP > limitsOn(strictest).SP) strictest = n;
  return strictest;
}
const limitsNow = () => limitsOn(limitDay());
function limitsOn(n) {
  const on = Draws.iso(n).slice(5);
  const rows = tables.limits[by("f-place").value];
  const [, front, rear] = rows.filter((row) => row[0] <= on).pop() || rows[0];
  return { LF: front, RF: front, LR: rear, RR: rear, SP: Math.max(front, rear) };
}
// What the log's own reader would ask about: likelier slips than as typed, by what is known of the car.
function oddVisit(now) {
  const { visit, raw } = now, read = WHEELS.filter((p) => raw[p]), typed = read.flatMap((p) => raw[p]), prior = lastKept();
  if (!read.length || visit.rotated || accepted.has("slip " + JSON.stringify(raw))) return null;
  const mean = (values) => values.reduce((s, v) => s + v, 0) / values.length, line = tables.lines[visit.line] || {};
  const fresh = visit.new_depth_mm !== null ? visit.new_depth_mm : line.new_depth_mm === undefined ? null : line.new_depth_mm;
  const of = (depths, scale, km, run) => ({ depth: WHEELS.map((p) => (depths[p] ? mean(depths[p]) * scale : null)), km, run: WHEELS.map(() => run),
    grooves: WHEELS.map((p) => (depths[p] || []).length), fresh: WHEELS.map(() => fresh) });
  const odometer = readNumber(by("k-odometer").value, 0, 2000000), known = !odometer.problem && odometer.value !== null;
  let from = null, km = 0, run = visit.before_mm ? 0 : visit.distance_km || 0;
  if (prior && known && prior.odometer * tables.per[prior.units].distance <= odometer.value * per("distance")) {
    const scale = tables.per[prior.units];
    km = odometer.value * per("distance") - prior.odometer * scale.distance;
    from = of(prior.depths, scale.depth, 0, 0);
    run = km;
  }
  const today_ = Object.assign(of(raw, per("depth"), km, run), { step: Slips.stepOf(typed, tables.slips.steps) * per("depth"),
    off: Slips.offHalves(typed), readings: typed.length, alike: typed.every((v) => v === typed[0]), unit: units === "us" ? "32nds" : "mm" });
  const law = model.expect(visit) || (from || run > 0 ? slipper.expect(today_, from) : null);
  return law ? slipper.judge(today_, law) : null;
}
function sayOdd(slip) {
  const wheels = (places) => places.map((i) => word("wheel-" + WHEELS[i])).join(", "), v = slip.values;
  return word("asked-slip-" + slip.slip, {
    other: v.unit ? tables.words[language].labels[units === "us" ? "metric" : "us"].depth : "",
    pairs: v.places && v.swap ? v.places.map((to, i) => [i, to]).filter(([i, to]) => i < to).map((pair) => pair.map((i) => word("wheel-" + WHEELS[i])).join(" / ")).join(", ") : "",
    wheels: v.wheels ? wheels(v.wheels) : "",
  });
}
// What the slip would make of what was typed, by wheel; null where it names no other reading.
function mended(slip, raw) {
  const { factor, swap, places } = slip.values;
  if (!factor && !swap) return null;
  return Object.fromEntries(WHEELS.map((p, i) => [p, factor ? raw[p] && raw[p].map((v) => v * factor) : raw[WHEELS[places[i]]]]).filter(([, v]) => v));
}
// What is deeper than new cannot be, by more than gauges err: asked on the spot.
function slipsOf(now) {
  const line = tables.lines[now.visit.line] || {}, fresh = now.visit.new_depth_mm !== null ? now.visit.new_depth_mm : line.new_depth_mm;
  const out = [], other = units === "us" ? "metric" : "us", slip = oddVisit(now);
  if (slip) {
    const instead = mended(slip, now.raw);
    return [{ key: "slip " + JSON.stringify(now.raw), text: sayOdd(slip), slip, change: instead && (() => {
      for (const [p, values] of Object.entries(instead)) by("d-" + p).value = values.map(plain).join(" ");
    }) }];
  }
  const top = fresh === null || fresh === undefined ? tables.deepest_new_mm : fresh;
  for (const p of Object.keys(now.raw)) {
    const value = Math.max(...now.raw[p]), mm = value * per("depth"), key = p + " " + value;
    if (mm <= top + tables.tolerance_mm || accepted.has(key)) continue;
    const meant = value * tables.per[other].depth, fits = meant >= 0 && meant <= top + tables.tolerance_mm / 2;
    out.push({ key, text: word(fits ? "asked-unit" : "asked-new", { wheel: word("wheel-" + p), value: plain(value),
      unit: label("depth"), new: talk().depth(top), other: tables.words[language].labels[other].depth, meant: talk().depth(meant) }),
    change: fits ? () => { by("d-" + p).value = now.raw[p].map((v) => plain(v * tables.per[other].depth / per("depth"))).join(" "); } : null });
  }
  return out;
}
function showSlips(slips) {
  by("asked").replaceChildren();
  for (const slip of slips) {
    const box = make("div", null, { class: "asked" });
    box.append(make("p", slip.text));
    if (slip.change !== null) {
      const yes = make("button", word("change-it"), { type: "button" });
      yes.addEventListener("click", () => { slip.change(); show(); });
      box.append(yes);
    }
    const no = make("button", word("as-read"), { type: "button" });
    no.addEventListener("click", () => { accepted.add(slip.key); show(); });
    box.append(no);
    by("asked").append(box);
  }
}

// The whole answer for what stands there: numbers, decision, sentences.
function answerFor(visit) {
  const found = model.answer(visit), decision = Decide.decide(found.facts, tables.rules), say = talk();
  return { found, decision, lead: say.lead(decision, found.overall), actions: decision.actions.map(say.action) };
}
function helps(visit, found) {
  const say = talk(), out = [], key = (more) => [visit.roads, more.stops || visit.stops, more.turns || visit.turns].join(" ");
  const gain = (after) => [after.km - found.overall.km[2],
    found.overall.dates[2] === null || after.date === null ? NaN : after.date - found.overall.dates[2]];
  for (const name of ["stops", "turns"]) {
    if (visit[name] === "few") continue;
    const [km, days] = gain(model.middle(Object.assign({}, visit, { ahead: key({ [name]: "few" }) })));
    if (km >= tables.least_km) out.push([km, word("help-" + name, { gain: say.difference(km, days) })]);
  }
  const turn = found.facts.rotation, more = turn.now_km - turn.never_km;
  if (more >= tables.least_km) out.push([more, word("help-rotate", { far: say.far(turn.every_km), gain: say.difference(more, NaN) })]);
  return out.sort((a, b) => b[0] - a[0]).map(([, text]) => text);
}
function showAnswer(now) {
  const box = by("answer");
  by("print").hidden = true;
  if (now.problems.length) { box.replaceChildren(list(now.problems)); box.firstChild.className = "now"; said = null; return; }
  if (!WHEELS.some((p) => p in now.visit.least_mm)) { box.replaceChildren(make("p", word("answer-wait"), { class: "note" })); said = null; return; }
  said = answerFor(now.visit);
  by("print").hidden = false;
  const say = talk(), { found, decision } = said, parts = [], urgent = said.actions.filter((_, i) => decision.actions[i].severity === 3);
  const spare = found.spare === "at-or-under" || found.spare === "near"
    ? word("spare-" + found.spare, { limit: say.depth(now.visit.limit_mm.SP) }) : null;
  if (urgent.length || spare) {
    const alarm = list([...urgent, ...(spare ? [spare] : [])]);
    alarm.className = "now";
    parts.push(alarm);
  }
  parts.push(make("p", (urgent.length ? tables.words[language].pages.above : "") + said.lead, { class: "lead" }));
  parts.push(spans(found, say), table(now, found, say));
  parts.push(make("h3", word("steps-head")), list(said.actions.filter((_, i) => decision.actions[i].severity < 3)));
  const help = found.overall.km[2] === null ? [] : helps(now.visit, found);
  parts.push(make("h3", word("helps-head")), list(help.length ? help : [word("help-none")]));
  const rule = now.own ? word("sure-own-rule", { limit: say.depth(now.visit.limit_mm.LF) })
    : word("sure-rule", { limit: say.depth(now.visit.limit_mm.LF), place: by("f-place").value, day: day(limitDay()) });
  const past = found.history, last = now.visit.car ? model.lastOf(now.visit.car) : null;
  const whence = past === "used" ? word("sure-car", { day: day(last.day), far: say.far(now.visit.odometer_km - last.km) })
    : past !== "none" ? word("sure-" + past, { day: day(last.day), odometer: grouped(last.km / per("distance")), unit: label("distance") })
    : now.before ? word("sure-second", { day: day(Draws.day(now.before.day)), far: say.far(now.before.km) })
    : last ? word("sure-no-odometer") : word("sure-visit");
  parts.push(make("h3", word("sure-head")), list([fitLine, whence,
    ...(now.visit.distance_km === null && past !== "used" ? [word("sure-distance")] : []),
    ...(found.turn ? [word(found.turn.on ? "sure-set-on" : "sure-set-stored", { day: day(today() + Math.ceil(found.turn.until)) })] : []),
    ...(found.seemed ? [word("sure-turned")] : []), word(past === "used" ? "sure-mean" : "sure-least"), rule]));
  const care = list(tables.words[language].cautions[units]);
  care.className = "care";
  parts.push(make("h3", word("care-head")), care);
  box.replaceChildren(...parts);
}
function table(now, found, say) {
  const one = make("table"), head = make("tr");
  const left = label("distance");
  for (const [text, kind] of [[word("col-wheel")], [word("col-read"), "number"],
    [word("col-left", { unit: left.charAt(0).toUpperCase() + left.slice(1) }), "number"], [word("col-when")]])
    head.append(make("th", text, { scope: "col", class: kind || null }));
  one.append(head);
  for (const [p, tire] of Object.entries(found.tires)) {
    const row = make("tr"), state = word("verdict-" + tire.verdict, { limit: say.depth(tire.limit_mm) });
    const wheelCell = make("th", word("wheel-" + p), { scope: "row" });
    if (state) wheelCell.append(make("br"), make("strong", state));
    const known = tire.km[2] !== null, down = tire.verdict === "at-or-under";
    row.append(wheelCell, make("td", say.depth(tire.read_mm), { class: "number read" }),
      make("td", known ? say.distanceRange(tire.km[0], tire.km[4]) : word("no-distance"), { class: "number" }),
      make("td", down ? word("due-now") : known ? say.dateRange(tire.dates[0], tire.dates[4]) : ""));
    one.append(row);
  }
  return one;
}
// Windows as bars on one axis of years: the wide bar 8 chances in 10, the dark one 5, the stroke the middle.
function spans(found, say) {
  const rows = Object.entries(found.tires).filter(([, t]) => t.dates[4] !== null), HIGH = 26;
  const LEFT = Math.max(104, 8 + 6.5 * Math.max(...rows.map(([p]) => word("wheel-" + p).length)));
  if (!wide) wide = Math.min(Math.max(by("answer").clientWidth || 560, 280), 640);
  const WIDE = wide;
  const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  if (!rows.length) return svg;
  const draw = (tag, more, text) => {
    const one = document.createElementNS("http://www.w3.org/2000/svg", tag);
    for (const [name, value] of Object.entries(more)) one.setAttribute(name, value);
    if (text !== undefined) one.textContent = text;
    svg.append(one);
  };
  const begin = today(), end = Math.max(...rows.map(([, t]) => t.dates[4]), begin + 180), tall = rows.length * HIGH + 24;
  const at = (n) => LEFT + (WIDE - LEFT - 8) * Math.min(Math.max((n - begin) / (end - begin), 0), 1);
  svg.setAttribute("viewBox", `0 0 ${WIDE} ${tall}`);
  svg.setAttribute("class", "spans");
  svg.setAttribute("role", "img");
  svg.setAttribute("aria-label", rows.map(([p, t]) => word("wheel-" + p) + ": " + say.dateRange(t.dates[0], t.dates[4])).join("; "));
  const from = new Date(begin * 86400000).getUTCFullYear(), to = new Date(end * 86400000).getUTCFullYear();
  const step = Math.max(1, Math.ceil((to - from) / 7));
  for (let year = from + 1; year <= to; year += step) {
    const x = at(Date.UTC(year, 0, 1) / 86400000);
    draw("line", { x1: x, x2: x, y1: 0, y2: tall - 18 });
    if (x > LEFT + 8 && x < WIDE - 20) draw("text", { x, y: tall - 4, class: "axis", "text-anchor": "middle" }, String(year));
  }
  rows.forEach(([p, t], i) => {
    const y = i * HIGH + 5;
    draw("text", { x: 0, y: y + 13 }, word("wheel-" + p));
    draw("rect", { class: "wide", x: at(t.dates[0]), y, width: Math.max(at(t.dates[4]) - at(t.dates[0]), 2), height: 17 });
    draw("rect", { class: "likely", x: at(t.dates[1]), y: y + 4, width: Math.max(at(t.dates[3]) - at(t.dates[1]), 2), height: 9 });
    draw("rect", { class: "middle", x: at(t.dates[2]) - 1.5, y: y - 1, width: 3, height: 19 });
  });
  return svg;
}
// How much wider the answer is for what was left out: the same answer, with the fact told as it most likely is.
function showCosts(now) {
  for (const f of FACTS) by("c-" + f.id).textContent = "";
  if (said === null || said.found.overall.km[2] === null || said.found.overall.km[4] <= said.found.overall.km[0]) return;
  const visit = now.visit, span = (found) => found.overall.dates[0] === null || found.overall.dates[4] === null
    ? found.overall.km[4] - found.overall.km[0] : found.overall.dates[4] - found.overall.dates[0];
  const law = tables.drives[visit.drive || "front"], line = tables.lines[visit.line] || tables.lines[""];
  const stated = visit.new_depth_mm !== null ? visit.new_depth_mm : line.new_depth_mm === null ? tables.new_depth.mean : line.new_depth_mm;
  const read = WHEELS.filter((p) => p in visit.least_mm).map((p) => visit.least_mm[p]), gone = stated - read.reduce((s, v) => s + v, 0) / read.length;
  const lines = Object.keys(tables.lines).filter((n) => n), would = {
    distance: gone > 0.5 ? { distance_km: gone / Math.exp(law.rate_mean + line.mean) } : null,
    year: { km_per_year: tables.pace.km_per_day * 365.25 }, new: visit.distance_km !== null ? { new_depth_mm: stated } : null,
    line: lines.length ? { line: lines[0] } : null, rotated: { rotated: said.found.history !== "used" },
  };
  const open = { distance: visit.distance_km === null, year: visit.km_per_year === null, new: visit.new_depth_mm === null,
    line: visit.line === "", rotated: visit.rotated === null };
  for (const f of FACTS) {
    const cell = by("c-" + f.id);
    if (f.id === "removal" && !now.own) cell.textContent = word("cost-limit", { limit: talk().depth(visit.limit_mm.LF) });
    else if (said.found.history === "used" && OF_HISTORY.includes(f.id)) cell.textContent = word("cost-known");
    else if (f.id in open && open[f.id]) {
      const times = would[f.id] === null ? 1 : span(said.found) / span(model.answer(Object.assign({}, visit, would[f.id])));
      costs[f.id] = times;
      cell.textContent = times >= 1.05 ? word("cost-much", { times: talk().habit(times.toFixed(1)) }) : word("cost-little");
    } else if (f.kind === "choice" && by("f-" + f.id).value === "") {
      // What it could be moves the middle and not the width: from the least to the most that any answer would give.
      const middles = [said.found.overall.km[2], ...f.options.map(([value]) =>
        model.middle(Object.assign({}, visit, { [f.id]: value })).km)].filter((km) => km !== null);
      const low = Math.min(...middles), high = Math.max(...middles);
      costs[f.id] = high / low;
      cell.textContent = high >= 1.05 * low ? word("cost-shift", { range: talk().distanceRange(low, high), unit: label("distance") })
        : word("cost-little");
    }
  }
}
let later = 0;
function show() {
  const now = entered();
  showSlips(slipsOf(now));
  showAnswer(now);
  clearTimeout(later);
  settled = new Promise((done) => { later = setTimeout(() => { showCosts(now); done(); }, 60); });
}

// Visits kept.
function problemsOfKeeping(now) {
  const vehicle = named(), name = by("k-odometer").previousSibling.textContent;
  const odometer = readNumber(by("k-odometer").value, 0, 2000000);
  if (now.problems.length) return now.problems;
  if (!WHEELS.some((p) => p in now.raw)) return [word("need-depth")];
  if (!vehicle) return [word("need-vehicle")];
  if (/^[=+\-@]/.test(vehicle)) return [word("bad-name", { sign: vehicle[0] })];
  if (odometer.problem) return [word(odometer.problem, Object.assign({ field: name }, odometer.values))];
  if (odometer.value === null) return [word("need-odometer")];
  return [];
}
// What does not fit the visits kept before: a mileage that goes back, a tread that grew.
function doubtsOfKeeping(visit) {
  const mine = visits.filter((v) => v.vehicle === visit.vehicle && !v.withdrawn && v.id !== visit.id && v.date <= visit.date)
    .sort((a, b) => (a.date < b.date ? -1 : 1)), before = mine[mine.length - 1], out = [], logged = model.lastOf(visit.vehicle);
  if (logged && visit.odometer * tables.per[visit.units].distance < logged.km - 0.5)
    out.push(word("asked-back", { value: grouped(visit.odometer), before: grouped(logged.km / tables.per[visit.units].distance), day: day(logged.day) }));
  if (!before) return out;
  const scale = (v, kind) => tables.per[v.units][kind], on = day(Draws.day(before.date)), say = talk();
  if (visit.odometer * scale(visit, "distance") < before.odometer * scale(before, "distance"))
    out.push(word("asked-back", { value: grouped(visit.odometer), before: grouped(before.odometer * scale(before, "distance") / per("distance")), day: on }));
  const other = units === "us" ? "metric" : "us";
  for (const p of WHEELS) {
    if (!visit.depths[p] || !before.depths[p]) continue;
    const value = Math.min(...visit.depths[p]), was = Math.min(...before.depths[p]) * scale(before, "depth");
    if (value * per("depth") <= was + tables.tolerance_mm) continue;
    const meant = value * tables.per[other].depth, fits = meant <= was + tables.tolerance_mm / 2;
    out.push(word(fits ? "asked-grew-unit" : "asked-grew", { wheel: word("wheel-" + p), value: plain(value), unit: label("depth"),
      before: say.depth(was), day: on, other: tables.words[language].labels[other].depth, meant: say.depth(meant) }));
  }
  return out;
}
async function keep(event) {
  if (event) event.preventDefault();
  const now = entered(), problems = problemsOfKeeping(now), asked = by("keep-asked");
  by("keep-said").textContent = "";
  if (problems.length) { asked.replaceChildren(list(problems)); asked.firstChild.className = "asked"; return false; }
  const slip = oddVisit(now), vehicle = carNow({}).car || named(), date = editing ? editing.date : Draws.iso(today());
  const old = editing || visits.find((v) => v.vehicle === vehicle && v.date === date && !v.withdrawn) || null;
  const visit = {
    id: old ? old.id : crypto.randomUUID(), vehicle, date, odometer: readNumber(by("k-odometer").value, 0, 2000000).value, units, depths: now.raw,
    new_depth: now.visit.new_depth_mm === null ? null : now.visit.new_depth_mm / per("depth"), line: now.visit.line, drive: now.visit.drive,
    note: by("k-note").value.trim(), withdrawn: false, shop: tables.shop, kept_at: new Date().toISOString(),
    history: old ? [...old.history, Object.assign({}, old, { history: [] })] : [],
  };
  const doubts = [...(slip ? [sayOdd(slip)] : []), ...doubtsOfKeeping(visit)], mark = JSON.stringify(doubts);
  if (doubts.length && doubted !== mark) {
    doubted = mark;
    asked.replaceChildren(list(doubts));
    asked.firstChild.className = "asked";
    by("keep-it").textContent = word("keep-anyway");
    return false;
  }
  if (!base) { asked.replaceChildren(make("p", word("store-none"), { class: "asked" })); return false; }
  try { await base.put(visit); } catch (error) {
    const full = error && (error.name === "QuotaExceededError" || /quota|full/i.test(String(error.message)));
    asked.replaceChildren(make("p", word(full ? "store-full" : "store-failed"), { class: "asked" }));
    return false;
  }
  editing = null; doubted = "";
  asked.replaceChildren();
  await showList();
  buildKeep();
  by("keep-said").textContent = word("kept", { vehicle, day: day(Draws.day(date)) });
  return true;
}
async function showList() {
  if (base) visits = await base.all();
  const box = by("list"), rows = [...visits].sort((a, b) => (a.date !== b.date ? (a.date > b.date ? -1 : 1) : a.vehicle < b.vehicle ? -1 : 1));
  by("export").hidden = !visits.some((v) => !v.withdrawn);
  if (!rows.length) { box.replaceChildren(make("p", word(base ? "list-none" : "store-none"), { class: "note" })); return; }
  const one = make("table"), head = make("tr");
  for (const code of ["col-day", "col-vehicle", "col-depths"]) head.append(make("th", word(code), { scope: "col" }));
  head.append(make("td"));
  one.append(head);
  for (const v of rows) {
    const row = make("tr", null, { class: v.withdrawn ? "gone" : null }), acts = make("td");
    const marks = [v.withdrawn ? word("withdrawn") : "", v.history.length ? word("corrected") : "",
      v.shop !== tables.shop ? word("other-shop") : ""].filter((text) => text).join(", ");
    row.append(make("td", v.date), make("td", v.vehicle + (marks ? " (" + marks + ")" : "")),
      make("td", WHEELS.map((p) => (v.depths[p] || ["–"]).join("/")).join(" · ") + " " + tables.words[language].labels[v.units].depth));
    const act = (code, work) => {
      const button = make("button", word(code), { type: "button", "aria-label": word(code) + ": " + v.vehicle + ", " + v.date });
      button.addEventListener("click", work);
      acts.append(button);
    };
    if (!v.withdrawn) act("correct", () => load(v));
    act(v.withdrawn ? "restore" : "withdraw", async () => { await base.put(Object.assign({}, v, { withdrawn: !v.withdrawn })); await showList(); });
    act("delete", () => askDelete(v, acts));
    row.append(acts);
    one.append(row);
  }
  box.replaceChildren(one);
}
function askDelete(visit, cell) {
  const mine = visits.filter((v) => v.vehicle === visit.vehicle);
  const yes = make("button", word("delete-yes"), { type: "button" }), no = make("button", word("delete-no"), { type: "button" });
  yes.addEventListener("click", async () => {
    await base.remove(mine.map((v) => v.id));
    await showList();
    by("keep-said").textContent = word("deleted", { vehicle: visit.vehicle });
  });
  no.addEventListener("click", showList);
  cell.replaceChildren(make("p", word("delete-sure", { vehicle: visit.vehicle, count: mine.length })), yes, no);
  no.focus();
}
function load(v) {
  if (v.units !== units) { units = v.units; build(); }
  editing = v;
  for (const p of ALL) by("d-" + p).value = (v.depths[p] || []).map(plain).join(" ");
  by("k-vehicle").value = v.vehicle; by("k-odometer").value = plain(v.odometer); by("k-note").value = v.note;
  by("f-new").value = v.new_depth === null ? "" : plain(v.new_depth); by("f-line").value = v.line in tables.lines ? v.line : ""; by("f-drive").value = v.drive;
  buildKeep();
  show();
  by("d-LF").focus();
}
// Visits kept with this log's page; another's are left for that page.
const ofShop = () => visits.filter((v) => v.shop === tables.shop);
function exported() {
  const rows = Store.table(ofShop(), units, tables.per, tables.heads[units]);
  return Store.csv(rows);
}
function sendOut() {
  const link = make("a", null, { download: "visits-" + Draws.iso(today()) + ".csv" });
  link.href = URL.createObjectURL(new Blob([exported()], { type: "text/csv" }));
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10000);
  const left = visits.filter((v) => !v.withdrawn).length, sent = ofShop().filter((v) => !v.withdrawn).length;
  by("keep-said").textContent = word("exported", { count: sent }) + (left > sent ? " " + word("exported-without", { count: left - sent }) : "");
}
function nextCar() {
  for (const p of ALL) by("d-" + p).value = "";
  for (const f of FACTS) by("f-" + f.id).value = f.kind === "place" ? by("f-place").value : "";
  for (const name of ["vehicle", "odometer", "note"]) by("k-" + name).value = "";
  editing = null; doubted = ""; accepted.clear();
  by("keep-asked").replaceChildren(); by("keep-said").textContent = "";
  buildKeep();
  mark("LF");
  show();
}

function sayFit() {
  const fit = tables.fit, made = day(Draws.day(fit.day)), age = today() - Draws.day(fit.day), warn = [];
  const cars = Object.keys(tables.cars || {}).length;
  fitLine = word(fit.kind + "-line", { day: made, readings: grouped(fit.readings), tires: grouped(fit.tires) });
  by("fit").replaceChildren(fitLine, ...(cars ? [make("span", " " + word("cars-line", { count: grouped(cars) }), { class: "screen" })] : []));
  if (age > tables.old_days) warn.push(word("fit-old", { days: age }));
  if (fit.trust === "refused") warn.push(word("fit-refused", { day: made }));
  if (fit.trust === "rough") warn.push(word("fit-rough"));
  by("warn").hidden = !warn.length;
  by("warn").textContent = warn.join(" ");
}
function build() {
  document.documentElement.lang = language;
  document.title = word("title");
  for (const one of document.querySelectorAll("[data-say]")) one.textContent = word(one.dataset.say, { example: word("depths-example-" + units) });
  const pick = by("units");
  pick.replaceChildren();
  for (const name of ["us", "metric"]) option(pick, name, word("units-" + name));
  pick.value = units;
  by("language").replaceChildren();
  for (const name of SPOKEN) option(by("language"), name, tables.words[name].counter["language-name"]);
  by("language").value = language;
  by("language-label").hidden = SPOKEN.length < 2;
  sayFit();
  buildWheels();
  buildPad();
  buildFacts();
  buildKeep();
}
// What was typed is kept through a change of units or of language, written as is usual there.
function change(to, tongue) {
  const now = entered(), from = units, fields = [], place = by("f-place").value, of = (kind) => tables.per[from][kind] / tables.per[to][kind];
  for (const p of Object.keys(now.raw)) fields.push(["d-" + p, now.raw[p], "depth"]);
  for (const [id, kind] of [...FACTS.filter((f) => f.kind === "number" || f.kind === "depth")
    .map((f) => ["f-" + f.id, f.kind === "depth" ? "depth" : "distance"]), ["k-odometer", "distance"]]) {
    const found = readNumber(by(id).value, -Infinity, Infinity);
    if (!found.problem && found.value !== null) fields.push([id, [found.value], kind]);
  }
  const moved = place === tables.places[from] ? tables.places[to] : place;
  units = to; language = tongue;
  build();
  for (const [id, values, kind] of fields) by(id).value = values.map((v) => plain(v * of(kind))).join(" ");
  by("f-place").value = moved;
  show();
}
by("units").addEventListener("change", () => change(by("units").value, language));
by("language").addEventListener("change", () => { change(units, by("language").value); showList(); });
by("next").addEventListener("click", nextCar);
by("print").addEventListener("click", () => window.print());
window.addEventListener("beforeprint", () => {
  const run = by("k-odometer").value.trim(), who = by("k-vehicle").value.trim();
  by("whose").textContent = [who, day(today()), run ? run + " " + label("distance") : ""].filter((text) => text).join(" · ");
});
window.addEventListener("resize", () => { wide = 0; if (said !== null) show(); });
by("keep").addEventListener("submit", keep);
by("export").addEventListener("click", sendOut);
build();
show();
const opened = Store.open().then((found) => { base = found; }, () => { base = null; }).then(showList);
window.tirelife = { opened, answerFor, model, slipper, keep, entered, exported, costs, visits: () => visits, settled: () => settled };
