// Draws of the distance left, worked through other assumptions: the same sums as tirelife/sheet/interactive.py.
//
// Draws.quantiles(draws, p)                          quantiles, as tirelife.rates.joint.quantiles
// Draws.median(draws)                                middle, as numpy.median
// Draws.chanceLonger(draws, others)                  share in which the one is the longer; NaN where either is null
// Draws.throughRotations(km, due, every, other)      as tirelife.outlook.rotation_ahead.through_rotations
// Draws.day(iso), Draws.iso(n)                       a day as a number (days since 1970-01-01), and back
// Draws.of(state) -> {
//   start                                            where every control stands to begin with
//   parts(position, answers)                         what each cause takes of a wheel's wear, pressure last
//   gapLogSd(before, after)                          how surely the ratio of two such sums is known
//   shared(answers)                                  whether any share of speed is given
//   recompute(answers, changed) -> { tires: { position: { km, dates } }, first, overall: { km, dates }, drawn, days }
//       km: five quantiles; dates: days, null where not known; drawn, days: the draws by position, null where
//       nothing is known; changed: wear over what the answers give, by position (none: 1)
//   least(answers, changed, dated) -> { km, days }    draws of the first of the set; null where nothing is known, or no
//       days are asked for
//   turned(answers, due, every) -> draws of the first of the set if it is rotated after `due` km and then every
//       `every` km (null: never)
// }
// state: as tirelife.sheet.assume.slider_state gives it.
const Draws = (function () {
  const DAY = 86400000, TIE_KM = 1e-3;
  const OTHER = { LF: ["LR", "RR"], RF: ["LR", "RR"], LR: ["LF", "RF"], RR: ["LF", "RF"] };
  const day = (iso) => Date.parse(iso + "T00:00:00Z") / DAY;
  const iso = (n) => new Date(n * DAY).toISOString().slice(0, 10);

  function quantiles(draws, p) {
    const ranked = Float64Array.from(draws).sort(), n = ranked.length;
    return p.map((one) => {
      const place = one * n - 0.5, under = Math.min(Math.max(Math.floor(place), 0), n - 2);
      return ranked[under] + (ranked[under + 1] - ranked[under]) * (place - under);
    });
  }
  // Share of draws in which the one is the longer, half of those that are alike, as outlook/turning.py.
  function chanceLonger(one, other) {
    if (one === null || other === null) return NaN;
    return one.reduce((sum, v, i) => sum + (v - other[i] > TIE_KM ? 1 : Math.abs(v - other[i]) <= TIE_KM ? 0.5 : 0), 0) / one.length;
  }
  // The value of a rank: what lies on its wrong side is put there, again and again (Hoare 1961), for a slider waits.
  function ranked(values, rank) {
    for (let low = 0, high = values.length - 1; low < high;) {
      const pivot = values[(low + high) >> 1];
      let i = low, j = high;
      while (i <= j) {
        while (values[i] < pivot) i++;
        while (values[j] > pivot) j--;
        if (i <= j) { const held = values[i]; values[i++] = values[j]; values[j--] = held; }
      }
      if (rank <= j) high = j;
      else if (rank >= i) low = i;
      else break;
    }
    return values[rank];
  }
  function median(draws) {
    const values = Float64Array.from(draws), n = values.length;
    if (values.some(Number.isNaN)) return NaN;
    const upper = ranked(values, n >> 1);
    if (n % 2) return upper;
    let under = -Infinity;
    for (let i = 0; i < n >> 1; i++) if (values[i] > under) under = values[i];
    return (under + upper) / 2;
  }
  function interpolate(x, xs, ys) {
    if (x <= xs[0]) return ys[0];
    for (let i = 1; i < xs.length; i++)
      if (x <= xs[i]) return ys[i - 1] + (ys[i] - ys[i - 1]) * (x - xs[i - 1]) / (xs[i] - xs[i - 1]);
    return ys[ys.length - 1];
  }
  function throughRotations(km, due, every, other) {
    if (every === null) return km;
    const beyond = Math.max(km - due, 0), turns = Math.floor(beyond / (every * (1 + other)));
    const rest = beyond - turns * every * (1 + other), there = Math.min(rest, other * every);
    return Math.min(km, due) + turns * 2 * every + there / other + (rest - there);
  }
  function lowest(rows) {
    if (!rows.length) return null;
    const out = Float64Array.from(rows[0]);
    for (const row of rows.slice(1)) for (let i = 0; i < out.length; i++) if (row[i] < out[i] || Number.isNaN(row[i])) out[i] = row[i];
    return out;
  }

  function of(state) {
    const start = Object.fromEntries(state.controls.map((c) => [c.id, c.value]));
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
    function gapLogSd(before, after) {
      const all = sum(after), was = sum(before), cov = state.factors.cov;
      const gap = after.map((v, i) => v / all - before[i] / was);
      return Math.sqrt(Math.max(sum(gap.map((g, i) => g * sum(gap.map((h, j) => cov[i][j] * h)))), 0));
    }
    // Wear over what it was, draw by draw: the further the causes' shares move, the less surely it is known. Of each
    // wheel, and of the wheels of the other axle in the middle of their logs.
    const answer = Float64Array.from(state.draws.answer), PLACES = Object.keys(OTHER);
    const begun = Object.fromEntries(PLACES.map((p) => [p, parts(p, start)]));
    function everyRatio(now, changed) {
      const logs = {}, here = {}, there = {};
      for (const p of PLACES) {
        const after = parts(p, now), sd = gapLogSd(begun[p], after);
        const middle = Math.log(sum(after) / sum(begun[p]) * (changed ? changed[p] : 1));
        logs[p] = answer.map((z) => middle + sd * z);
        here[p] = logs[p].map(Math.exp);
      }
      for (const p of PLACES) {
        const [one, two] = OTHER[p], twin = PLACES.find((q) => there[q] && OTHER[q][0] === one);
        there[p] = twin ? there[twin] : logs[one].map((v, i) => Math.exp((v + logs[two][i]) / 2));
      }
      return { here, there };
    }
    // The same driving is asked for again and again, under other rotations and limits: the last one is kept.
    const driven = state.shares.concat(state.events, "pressure"), kept = { key: null, ratios: null };
    function ratiosAt(now) {
      const key = driven.map((name) => now[name]).join();
      if (kept.key !== key) Object.assign(kept, { key, ratios: everyRatio(now, null) });
      return kept.ratios;
    }
    // Draws of the distance left on one axle alone, by position and limit; null where nothing is known.
    const stays = {};
    function staysAt(position, removal) {
      const name = position + " " + removal;
      if (!(name in stays)) {
        const km = state.tires[position].km[removal];
        stays[name] = km.some((v) => v === null) ? null : Float64Array.from(km);
      }
      return stays[name];
    }
    // Draws of the distance left; null where nothing is known.
    function distances(position, now, rotation, ratios) {
      const tire = state.tires[position], [due, every] = rotation, km = staysAt(position, now.removal);
      if (km === null) return null;
      const here = ratios.here[position], there = ratios.there[position], out = new Float64Array(km.length);
      const eachDue = due.length > 1, eachEvery = every.length > 1;
      for (let i = 0; i < out.length; i++)
        out[i] = tire.spare_factor * throughRotations(km[i] / here[i], due[eachDue ? i : 0], every[eachEvery ? i : 0],
          tire.other[i] * there[i] / here[i]);
      return out;
    }
    // Days on the calendar of a set that takes turns, on the car today: as tirelife.outlook.seasons.calendar_days.
    function calendarDays(use, until, mounted, pace) {
      const left = use - until * pace, season = mounted * pace;
      if (!(left > 0)) return use / pace;
      const whole = Math.max(Math.ceil(left / season - 1e-9) - 1, 0);
      return until + whole * 365.25 + (365.25 - mounted) + (left - whole * season) / pace;
    }
    // Variance of its pace by a level that drifts by 1 a year: as drift_years there.
    function driftYears(plain, until, mounted, pace) {
      const use = Math.max(plain / 365.25 / pace, 1e-9), each = mounted / 365.25, now = Math.min(until / 365.25, use);
      const rest = 1 - now / use, season = each / use, n = Math.max(Math.ceil(rest / season - 1e-9) - 1, 0);
      const last = rest - n * season, shares = n * rest - season * n * (n - 1) / 2;
      const squares = n * rest ** 2 - rest * season * n * (n - 1) + season ** 2 * n * (n - 1) * (2 * n - 1) / 6;
      const run = each * (squares - season * shares + n * season ** 2 / 3) + last ** 3 * use / 3;
      return now * (1 + rest + rest ** 2) / 3 + (1 - each) * (squares + last ** 2) + run;
    }
    // Days as in tirelife/outlook/ahead.py.
    function daysOf(km, perDay, age, turn) {
      const pace = state.pace, { level, year, change, share } = state.draws, out = new Float64Array(km.length);
      for (let i = 0; i < out.length; i++) {
        const plain = km[i] / perDay, ahead = Math.max(plain / 365.25, 1 / 12);
        const drift = turn ? driftYears(plain, turn[0], turn[1], turn[2]) : ahead / 3;
        const sd = Math.sqrt(pace.year_log_sd ** 2 / ahead + pace.drift_log_sd ** 2 * drift);
        const n = plain * Math.exp(-pace.log_sd * level[i] - sd * year[i]);
        const on = turn ? calendarDays(n, Math.max(turn[0] + turn[3] * change[i], 0), turn[1],
          turn[2] * Math.exp(turn[4] * share[i])) : n;
        out[i] = age === null || age === undefined ? on : Math.min(on, age);
      }
      return out;
    }
    function drawnBy(answers, changed, dated = true) {
      const now = Object.assign({}, start, answers), drawn = {}, days = {};
      const ratios = changed ? everyRatio(now, changed) : ratiosAt(now);
      const perDay = state.pace.km_per_day * now.year / start.year;
      for (const [position, tire] of Object.entries(state.tires)) {
        const km = distances(position, now, state.rotations[now.rotation], ratios);
        drawn[position] = km;
        if (dated) days[position] = km === null ? null : daysOf(km, perDay, tire.age_days, tire.turn);
      }
      return { drawn, days };
    }
    function least(answers, changed, dated = true) {
      const { drawn, days } = drawnBy(answers, changed, dated), known = Object.keys(drawn).filter((p) => drawn[p] !== null);
      return { km: lowest(known.map((p) => drawn[p])), days: dated ? lowest(known.map((p) => days[p])) : null };
    }
    function turned(answers, due, every) {
      const now = Object.assign({}, start, answers), ratios = ratiosAt(now);
      const rows = Object.keys(state.tires).map((p) => distances(p, now, [[due], [every]], ratios));
      return lowest(rows.filter((row) => row !== null));
    }
    function answerOf(km, left) {
      if (km === null) return { km: [null, null, null, null, null], dates: [null, null, null, null, null] };
      const dates = quantiles(left, state.constants.p).map((n) =>
        n <= state.constants.horizon_days ? day(state.as_of) + Math.floor(n + 1e-9) : null);
      return { km: quantiles(km, state.constants.p), dates };
    }
    function recompute(answers, changed) {
      const { drawn, days } = drawnBy(answers, changed), tires = {};
      for (const position of Object.keys(drawn)) tires[position] = answerOf(drawn[position], days[position]);
      const known = Object.entries(drawn).filter(([, km]) => km !== null);
      const all = lowest(known.map(([, km]) => km)), soonest = lowest(known.map(([p]) => days[p]));
      let first = "", most = -1;
      for (const [position, km] of known) {
        const wins = km.filter((v, i) => v === all[i]).length;
        if (wins > most) { first = position; most = wins; }
      }
      return { tires, first, overall: answerOf(all, soonest), drawn, days, least: all };
    }
    return { start, parts, gapLogSd, shared, recompute, least, turned };
  }
  return { quantiles, median, chanceLonger, throughRotations, day, iso, of };
})();
