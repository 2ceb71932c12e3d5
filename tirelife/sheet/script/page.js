// The page itself: its charts, its controls, and the record redone at every move of one.
const read = (id) => JSON.parse(document.getElementById(id).textContent);
document.head.append(Object.assign(document.createElement("script"),
  { textContent: Packed.text(document.getElementById("library").textContent) }));
const specs = read("specs"), state = read("state"), views = {};
const live = Object.keys(state).length > 0;
const POINTS = 13, NARROW = "-narrow";
const redone = live ? Record.of(state) : null;
const byId = (id) => document.getElementById(id);
const field = (c) => byId("c-" + c.id);

const gentler = byId("c-gentler");
// Gentler driving takes the same part off every count of hard starts, stops and turns.
const part = (c) => gentler && state.events.includes(c.id) ? 1 - Number(gentler.value) / 100 : 1;
function answers() {
  return Object.fromEntries(state.controls.map((c) =>
    [c.id, c.options ? field(c).value : Number(field(c).value) * part(c)]));
}
function windowRows(result) {
  const rows = [[state.first_label, result.overall]].concat(
    Object.entries(result.tires).map(([position, tire]) => [state.labels[position], tire]));
  return rows.filter(([, r]) => r.dates[4] !== null).map(([label, r]) => {
    const row = { label, said: redone.say.dateRange(r.dates[0], r.dates[4]) };
    // Vega reads a date without a zone as local, so the day is given as local midnight.
    ["10", "25", "50", "75", "90"].forEach((q, i) => {
      row["date_p" + q] = new Date(Draws.iso(r.dates[i]) + "T00:00:00");
    });
    return row;
  });
}
function bandRows(position, record, removal) {
  const path = state.paths[position], km = record.result.tires[position].km, rows = [];
  const depth = record.facts.tires[position].depth_mm;
  for (let j = 0; j < POINTS; j++) {
    const along = path.reach_km * j / (POINTS - 1), row = { label: state.labels[position] };
    row["odometer_" + state.distance_unit] = (path.odometer_km + along) / state.km_per_unit;
    [10, 25, 50, 75, 90].forEach((q, i) => {
      const worn = km[i] > 0 ? (depth - removal) * along / km[i] : depth;
      // Of a tire that is down no path is known: its depth of today does not fall to nothing at once.
      const down = km[4] <= 0 || (q === 50 && km[2] <= 0);
      row["depth_p" + q + "_" + state.depth_unit] = down ? null : (depth - worn) / state.mm_per_unit;
    });
    rows.push(row);
  }
  return rows;
}
function changeRows(record) {
  return record.helps.map((row) => Object.fromEntries(Object.entries(row).map(([name, value]) =>
    name.endsWith("_km") ? [name.replace(/_km$/, "_" + state.distance_unit), value / state.km_per_unit] : [name, value])));
}
// What a chart says to a screen reader ends in its rows: they are said anew.
function speak(id, name, rows) {
  const svg = document.querySelector("#" + id + " svg.marks");
  if (svg === null) return;
  const label = specs[id].description, tail = rows.map((r) => r[name] + ": " + r.said).join("; ") + ".";
  if (!(id in spoken)) spoken[id] = label.endsWith(tail) ? label.slice(0, -tail.length) : label + " ";
  svg.setAttribute("aria-label", spoken[id] + tail);
}
const spoken = {};
const made = (tag, has) => Object.assign(document.createElement(tag), has);
function listed(id, texts, changes) {
  const list = byId(id);
  if (list === null) return;
  list.replaceChildren(...texts.map((text, i) => {
    const item = made("li", changes ? {} : { textContent: text });
    if (changes) item.append(made("span", { className: "do", textContent: text }), " ",
      made("span", { className: "change", textContent: changes[i] }));
    return item;
  }));
}
function say(c, value) {
  if (c.id === "pressure")
    return value === 0 ? redone.say.fill("live-placard") :
      redone.say.fill(value < 0 ? "live-low" : "live-high", { pressure: redone.say.habit(String(Math.abs(value))) + " " + c.unit });
  return redone.say.habit(Words.halfUp(value, 0.1).toLocaleString("en-US")) + (c.unit ? " " + c.unit : "");
}
function show() {
  const now = answers();
  if (!redone.shared(now)) {
    byId("assumed").textContent = state.no_share;
    return Promise.resolve(null);
  }
  const record = redone.redo(now), result = record.result, start = redone.start;
  const total = state.shares.reduce((sum, name) => sum + now[name], 0);
  const changed = [];
  if (gentler) {
    const less = Number(gentler.value), shown = byId("o-gentler");
    shown.textContent = less ? redone.say.fill("live-gentler", { percent: String(less) }) : shown.dataset.none;
    if (less) changed.push(gentler.labels[0].textContent.toLowerCase() + " " + shown.textContent);
  }
  for (const c of state.controls) {
    const moved = now[c.id] !== (c.options ? start[c.id] : start[c.id] * part(c));
    let text;
    if (c.options) text = c.options.find((o) => String(o[1]) === now[c.id])[0];
    else text = say(c, state.shares.includes(c.id) ? Words.halfUp(100 * now[c.id] / total, 1) : now[c.id]);
    if (!c.options) byId("o-" + c.id).textContent = text;
    if (moved) changed.push(c.label.toLowerCase() + " " + text);
  }
  byId("lead").textContent = record.lead;
  byId("assumed").textContent = changed.length ? redone.say.fill("live-if", { what: changed.join("; ") }) : state.assumed;
  byId("now").hidden = record.urgent.length === 0;
  listed("urgent", record.urgent, record.urgentChange);
  listed("steps", record.steps, record.stepsChange);
  byId("notes").textContent = record.notes.join(" ");
  for (const [position, tire] of Object.entries(result.tires)) {
    const left = byId("left-" + position), depth = byId("now-" + position);
    if (left) left.textContent = redone.say.distanceRange(tire.km[0], tire.km[4]);
    if (depth) depth.textContent = redone.say.depth(record.facts.tires[position].depth_mm, true).replace(state.record.texts["deep-" + state.units], "");
  }
  byId("little").textContent = record.little;
  // Where no chart of changes was drawn, what helps now is said in words.
  const drawn = views.changes !== undefined;
  listed("helps", drawn ? [] : record.helps.map((row) => row.change + ": " + row.said));
  byId("none-helps").hidden = record.changes.length > 0;
  charted = { record, removal: state.removals[now.removal] };
  return redraw().then(() => result);
}
// Charts are drawn for screen and paper and for a phone. Only those that are seen are drawn anew; the others wait until
// the window is turned or a page is printed. What is shown is named in "done": data that stay are not set again.
let charted = null;
const done = {};
function setData(id, name, rows) {
  const key = id + " " + name, said = JSON.stringify(rows);
  if (done[key] === said) return false;
  done[key] = said;
  views[id].data(name, rows);
  return true;
}
function changesOf(id, tail) {
  const { record, removal } = charted, limit = [{ limit: removal / state.mm_per_unit }];
  const view = views[id], chart = id.slice(0, id.length - tail.length);
  if (chart === "windows") {
    const rows = windowRows(record.result);
    return setData(id, "windows", rows) && (() => speak(id, "label", rows));
  }
  if (chart === "profiles") return setData(id, "limit", limit) && (() => {});
  if (chart === "paths") {
    const moved = Object.keys(state.paths).flatMap((position, i) =>
      [setData(id, "band-" + i, bandRows(position, record, removal)), setData(id, "limit-" + i, limit)]);
    return moved.includes(true) && (() => {});
  }
  if (chart !== "changes" || !record.helps.length || !setData(id, "changes", changeRows(record))) return false;
  const names = record.helps.map((row) => row.change + row.said).join();
  if (done[id] !== names) view.resize();  // other words take other room
  done[id] = names;
  return () => speak(id, "change", record.helps);
}
const seen = (id) => byId(id).getClientRects().length > 0;
function stale(wanted) {
  if (charted === null) return [];
  const rows = charted.record.helps.length;
  return Object.keys(views).flatMap((id) => {
    const tail = id.endsWith(NARROW) ? NARROW : "";
    if (id === "changes" + tail) byId(id).parentElement.hidden = rows === 0;
    const after = wanted(id) && changesOf(id, tail);
    return after ? [[views[id], after]] : [];
  });
}
const redraw = () => Promise.all(stale(seen).map(([view, after]) => view.runAsync().then(after)));

const drawn = Promise.all(Object.entries(specs).map(([id, spec]) =>
  window.vegaEmbed("#" + id, spec, { renderer: "svg", actions: false, ast: true }).then((made) => { views[id] = made.view; })));
// The largest size at which all goes on one side; where none does that can be read, two sides in full size.
const LEAST_FIT = 0.82, CHART_TEXT = 11, LEAST_TEXT = 10.1;
function fitToPaper() {
  const root = document.documentElement, room = 0.99 * Number(root.dataset.room);
  root.classList.add("measure");
  const width = document.body.getBoundingClientRect().width;
  function goes(fit) {
    root.style.setProperty("--fit", fit.toFixed(3));
    root.style.setProperty("--chart", Math.max(1, LEAST_TEXT / CHART_TEXT / fit).toFixed(3));
    document.body.style.width = width / fit + "px";  // what is printed smaller has more room across
    return (document.body.getBoundingClientRect().height + 2) * fit <= room;
  }
  let [low, high] = [LEAST_FIT, 1];
  if (!goes(1) && goes(low)) {
    while (high - low > 0.01) {
      const middle = (low + high) / 2;
      [low, high] = goes(middle) ? [middle, high] : [low, middle];
    }
    goes(low);
  } else if (!goes(1)) root.style.setProperty("--chart", "1.1");
  document.body.style.width = "";
  root.classList.remove("measure");
}
window.addEventListener("beforeprint", () => {
  for (const [view, after] of stale(() => true)) {
    view.run();
    after();
  }
  fitToPaper();
});
let last = drawn, busy = null, again = null;
window.addEventListener("resize", () => { if (busy === null) last = last.then(redraw); });
// While charts are being drawn further moves wait, and only the last of them is shown.
function begin(job) {
  const rest = () => { busy = null; };
  last = busy = job;
  busy.then(rest, rest);
}
function moved() {
  if (busy === null) begin(show());
  else if (again === null) last = again = busy.then(() => {
    again = null;
    moved();
    return busy;
  });
}
// How high the page is once all is drawn: a picture of it is taken so high.
drawn.then(fitToPaper).then(() => { document.documentElement.dataset.high = String(document.documentElement.scrollHeight); });
if (live) {
  for (const one of state.controls.map(field).concat(gentler || [])) one.addEventListener("input", moved);
  document.getElementById("reset").addEventListener("click", () => {
    for (const c of state.controls) field(c).value = c.value;
    if (gentler) gentler.value = 0;
    moved();
  });
  document.getElementById("print").addEventListener("click", () => window.print());
  begin(drawn.then(show));
}
window.tirelife = { drawn, redo: redone && redone.redo, say: redone && redone.say, answers, iso: Draws.iso, settled: () => last };
