"use strict";
(function () {
  const read = (id) => JSON.parse(document.getElementById(id).textContent);
  const specs = read("specs"), state = read("state"), views = {};
  const live = Object.keys(state).length > 0;
  const DAY = 86400000, POINTS = 13, NARROW = "-narrow";
  const MONTHS = ["January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December"];
  const day = (iso) => Date.parse(iso + "T00:00:00Z") / DAY;
  const iso = (n) => new Date(n * DAY).toISOString().slice(0, 10);
  const half = (x) => Math.floor(x + 0.5);

  // The same sums as tirelife/sheet/interactive.py, line by line.
  const sum = (values) => values.reduce((total, v) => total + v, 0);
  const shared = (answers) => state.shares.some((name) => answers[name] > 0);
  function parts(position, answers) {
    const w = state.weights[position], factor = state.factors.weights, last = factor.length - 1;
    const total = sum(state.shares.map((name) => answers[name]));
    const out = w.constant.map((constant, i) => constant +
      sum(state.shares.map((name) => w[name][i] * answers[name] / total)) +
      sum(state.events.map((name) => w[name][i] * answers[name])));
    const more = interpolate(answers.pressure, state.pressure.at, state.pressure.factor[position]) - 1;
    return out.concat(factor[last] * more * sum(out.map((v, i) => v / factor[i])));
  }
  function interpolate(x, xs, ys) {
    if (x <= xs[0]) return ys[0];
    for (let i = 1; i < xs.length; i++)
      if (x <= xs[i]) return ys[i - 1] + (ys[i] - ys[i - 1]) * (x - xs[i - 1]) / (xs[i] - xs[i - 1]);
    return ys[ys.length - 1];
  }
  const OTHER = { LF: ["LR", "RR"], RF: ["LR", "RR"], LR: ["LF", "RF"], RR: ["LF", "RF"] };
  // Log of wear over what it was, draw by draw: the further the causes' shares move, the less surely it is known.
  function ratios(position, now) {
    const before = parts(position, start), after = parts(position, now), cov = state.factors.cov;
    const gap = after.map((v, i) => v / sum(after) - before[i] / sum(before));
    const sd = Math.sqrt(Math.max(sum(gap.map((g, i) => g * sum(gap.map((h, j) => cov[i][j] * h)))), 0));
    const middle = Math.log(sum(after) / sum(before));
    return state.draws.answer.map((z) => middle + sd * z);
  }
  function throughRotations(km, due, every, other) {
    if (every === null) return km;
    const beyond = Math.max(km - due, 0), turns = Math.floor(beyond / (every * (1 + other)));
    const rest = beyond - turns * every * (1 + other), there = Math.min(rest, other * every);
    return Math.min(km, due) + turns * 2 * every + there / other + (rest - there);
  }
  const at = (values, i) => values[values.length > 1 ? i : 0];
  // Draws of the distance left; null where nothing is known.
  function distances(position, tire, now) {
    const [due, every] = state.rotations[now.rotation], here = ratios(position, now).map(Math.exp);
    const [one, two] = OTHER[position].map((p) => ratios(p, now));
    const there = one.map((v, i) => Math.exp((v + two[i]) / 2));
    const stays = tire.km[now.removal];
    if (stays.some((v) => v === null)) return null;
    return stays.map((v, i) => tire.spare_factor *
      throughRotations(v / here[i], at(due, i), at(every, i), tire.other[i] * there[i] / here[i]));
  }
  function quantiles(draws) {
    const ranked = Float64Array.from(draws).sort(), n = ranked.length;
    return state.constants.p.map((p) => {
      const place = p * n - 0.5, under = Math.min(Math.max(Math.floor(place), 0), n - 2);
      return ranked[under] + (ranked[under + 1] - ranked[under]) * (place - under);
    });
  }
  // Days as in tirelife/outlook/ahead.py.
  function days(km, perDay, age) {
    const c = state.constants, pace = state.pace, draws = state.draws;
    return km.map((v, i) => {
      const plain = v / perDay, ahead = Math.max(plain / 365.25, 1 / 12);
      const sd = Math.sqrt(pace.year_log_sd ** 2 / ahead + c.drift_log_sd ** 2 * ahead / 3);
      const n = plain * Math.exp(-pace.log_sd * draws.level[i] - sd * draws.year[i]);
      return age === null || age === undefined ? n : Math.min(n, age);
    });
  }
  function answerOf(km, left) {
    if (km === null) return { km: [null, null, null, null, null], dates: [null, null, null, null, null] };
    const dates = quantiles(left).map((n) =>
      n <= state.constants.horizon_days ? day(state.as_of) + Math.floor(n + 1e-9) : null);
    return { km: quantiles(km), dates };
  }
  function recompute(answers) {
    const now = Object.assign({}, start, answers), tires = {}, known = {}, left = {};
    const perDay = state.pace.km_per_day * now.year / start.year;
    for (const [position, tire] of Object.entries(state.tires)) {
      const km = distances(position, tire, now);
      left[position] = km === null ? null : days(km, perDay, tire.age_days);
      tires[position] = answerOf(km, left[position]);
      if (km !== null) known[position] = km;
    }
    const all = Object.values(known), spans = Object.keys(known).map((p) => left[p]);
    const lowest = (rows) => rows.length ? rows[0].map((_, i) => Math.min(...rows.map((row) => row[i]))) : null;
    const least = lowest(all), soonest = lowest(spans);
    let first = "", most = -1;
    for (const [position, km] of Object.entries(known)) {
      const wins = km.filter((v, i) => v === least[i]).length;
      if (wins > most) { first = position; most = wins; }
    }
    return { tires, first, overall: answerOf(least, soonest) };
  }

  // The same words as tirelife/sheet/words.py.
  function named(n, grain, withYear) {
    const d = new Date(n * DAY), year = d.getUTCFullYear(), month = d.getUTCMonth(), tail = withYear ? " " + year : "";
    if (grain === "part") return (d.getUTCDate() <= 10 ? "early" : d.getUTCDate() <= 20 ? "mid" : "late") + " " +
      MONTHS[month] + tail;
    if (grain === "month") return MONTHS[month] + tail;
    return (month < 4 ? "early" : month < 8 ? "mid" : "late") + " " + year;
  }
  const grainOf = (low, high) => high - low < 245 ? "part" : high - low < 730 ? "month" : "third";
  function dateRange(low, high) {
    if (low === null || high === null) return "not known";
    const grain = grainOf(low, high), second = named(high, grain, true);
    if (named(low, grain, true) === second) return second;
    const oneYear = new Date(low * DAY).getUTCFullYear() === new Date(high * DAY).getUTCFullYear();
    return named(low, grain, !oneYear || grain === "third") + " to " + second;
  }
  function between(low, high) {
    if (low - day(state.as_of) <= 14) return "between now and " + named(high, grainOf(low, high), true);
    const said = dateRange(low, high);
    return said.includes(" to ") ? "between " + said.replace(" to ", " and ") : "around " + said;
  }
  function distanceRange(low, high) {
    if (low === null || high === null) return "not known";
    low /= state.km_per_unit; high /= state.km_per_unit;
    let step = 10;
    for (const s of [10, 50, 100, 500, 1000, 5000, 10000]) if (s <= (high - low) / 5) step = s;
    const say = (v) => (half(v / step) * step).toLocaleString("en-US");
    return say(low) === say(high) ? say(high) : say(low) + " to " + say(high);
  }
  function lead(result) {
    const low = result.overall.dates[0], high = result.overall.dates[4];
    const first = (state.labels[result.first] ?? "").toLowerCase();
    if (low === null || high === null)
      return "There is not enough to give you a date yet. Measure again in a month or two.";
    if (high <= day(state.as_of)) return "The " + first + " tire is due now. Plan for new tires before you drive far.";
    return "Plan for new tires " + between(low, high) + ", after " +
      distanceRange(result.overall.km[0], result.overall.km[4]) + " more " + state.distance_word + ". The " + first +
      " tire will most likely be first.";
  }

  const start = live ? Object.fromEntries(state.controls.map((c) => [c.id, c.value])) : {};
  const field = (c) => document.getElementById("c-" + c.id);
  function answers() {
    return Object.fromEntries(state.controls.map((c) =>
      [c.id, c.options ? field(c).value : Number(field(c).value)]));
  }
  function windowRows(result) {
    const rows = [["First of the set", result.overall]].concat(
      Object.entries(result.tires).map(([position, tire]) => [state.labels[position], tire]));
    return rows.filter(([, r]) => r.dates[4] !== null).map(([label, r]) => {
      const row = { label, said: dateRange(r.dates[0], r.dates[4]) };
      // Vega reads a date without a zone as local, so the day is given as local midnight.
      ["10", "25", "50", "75", "90"].forEach((q, i) => { row["date_p" + q] = new Date(iso(r.dates[i]) + "T00:00:00"); });
      return row;
    });
  }
  function bandRows(position, result, removal) {
    const path = state.paths[position], km = result.tires[position].km, rows = [];
    for (let j = 0; j < POINTS; j++) {
      const along = path.reach_km * j / (POINTS - 1), row = { label: state.labels[position] };
      row["odometer_" + state.distance_unit] = (path.odometer_km + along) / state.km_per_unit;
      [10, 25, 50, 75, 90].forEach((q, i) => {
        const worn = km[i] > 0 ? (path.depth_mm - removal) * along / km[i] : path.depth_mm;
        row["depth_p" + q + "_" + state.depth_unit] = (path.depth_mm - worn) / state.mm_per_unit;
      });
      rows.push(row);
    }
    return rows;
  }
  function say(c, value) {
    if (c.id === "pressure")
      return value === 0 ? "at the placard" : Math.abs(value) + " " + c.unit + (value < 0 ? " low" : " high");
    return value.toLocaleString("en-US") + (c.unit ? " " + c.unit : "");
  }
  function show() {
    const now = answers();
    if (!shared(now)) {
      document.getElementById("assumed").textContent = state.no_share;
      return Promise.resolve(null);
    }
    const result = recompute(now), total = sum(state.shares.map((name) => now[name]));
    const changed = [];
    for (const c of state.controls) {
      const moved = now[c.id] !== start[c.id];
      let text;
      if (c.options) text = c.options.find((o) => String(o[1]) === now[c.id])[0];
      else text = say(c, state.shares.includes(c.id) ? half(100 * now[c.id] / total) : now[c.id]);
      if (!c.options) document.getElementById("o-" + c.id).textContent = text;
      if (moved) changed.push(c.label.toLowerCase() + " " + text);
    }
    document.getElementById("lead").textContent = state.before + lead(result);
    document.getElementById("assumed").textContent = changed.length
      ? "If, from now on: " + changed.join("; ") + "." : state.assumed;
    for (const [position, tire] of Object.entries(result.tires)) {
      const cell = document.getElementById("left-" + position);
      if (cell) cell.textContent = distanceRange(tire.km[0], tire.km[4]);
    }
    const jobs = [], removal = state.removals[now.removal];
    for (const tail of ["", NARROW]) {
      const windows = views["windows" + tail], paths = views["paths" + tail];
      if (windows) jobs.push(windows.data("windows", windowRows(result)).runAsync());
      if (!paths) continue;
      Object.keys(state.paths).forEach((position, i) => {
        paths.data("band-" + i, bandRows(position, result, removal));
        paths.data("limit-" + i, [{ limit: removal / state.mm_per_unit }]);
      });
      jobs.push(paths.runAsync());
    }
    return Promise.all(jobs).then(() => result);
  }

  const drawn = Promise.all(Object.entries(specs).map(([id, spec]) =>
    window.vegaEmbed("#" + id, spec, { renderer: "svg", actions: false, ast: true }).then((made) => { views[id] = made.view; })));
  function fitToPaper() {
    const root = document.documentElement;
    root.classList.add("measure");
    // What is printed smaller has more room across, and so needs less height: a few rounds settle it.
    const width = document.body.getBoundingClientRect().width;
    let fit = 1;
    for (let i = 0; i < 5; i++) {
      document.body.style.width = width / fit + "px";
      fit = Math.min(1, 0.99 * Number(root.dataset.room) / (document.body.getBoundingClientRect().height + 2));
    }
    document.body.style.width = "";
    root.classList.remove("measure");
    root.style.setProperty("--fit", fit.toFixed(3));
  }
  window.addEventListener("beforeprint", fitToPaper);
  let last = drawn;
  drawn.then(fitToPaper);
  if (live) {
    for (const c of state.controls) field(c).addEventListener("input", () => { last = show(); });
    document.getElementById("reset").addEventListener("click", () => {
      for (const c of state.controls) field(c).value = c.value;
      last = show();
    });
    document.getElementById("print").addEventListener("click", () => window.print());
    last = drawn.then(show);
  }
  window.tirelife = { drawn, recompute, answers, dateRange, iso, settled: () => last };
})();
