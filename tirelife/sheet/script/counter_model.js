// What a visit's depths say through the shop's own fit: twin of tirelife/outlook/counter.py and returning.py (what was
// known before), weighing.py (conditioning) and ahead.py (draws ahead) for tires that were read today. A test compares
// both in a browser.
//
// Model.of(tables) -> { answer(visit), middle(visit), history(visit), expect(visit), lastOf(car), turnOf(visit) }
// visit: { least_mm {position}, limit_mm {position}, as_of (a day), distance_km, km_per_year, new_depth_mm (null: not
//   known), line, drive, roads, stops, turns, rotated (true, false or null), ahead ("roads stops turns" from today on,
//   or null: as so far), before_mm {position} (what the same wheels read at an earlier visit, distance_km being what was
//   run since; or null), car (a name of the tables, or ""), odometer_km, mean_mm {position}, grooves {position}, set_now (a key of tables.sets,
//   or "": an only set) }
// answer -> { seemed (the wheels look as if they had been rotated), history (see there), tires { position: { km [5],
//   dates [5], verdict, read_mm, limit_mm, depth_mm } }, overall { km, dates }, facts (for Decide), spare (its verdict or
//   null), new_mm {position} }; a day is a number, not known is null.
// history -> "none", "back", "moved", "unfit" or "used": see tirelife.outlook.returning.history_of.
const Model = (function () {
  const ROAD = ["LF", "RF", "LR", "RR"], BOUND = 0.05, LEAST = 0.02, SAME = 1e-6, LONGEST = 1e6;
  const front = (p) => p === "LF" || p === "RF";
  const sum = (values) => values.reduce((s, v) => s + v, 0);
  const dot = (a, b) => { let s = 0; for (let i = 0; i < a.length; i++) s += a[i] * b[i]; return s; };
  const zeros = (n) => new Array(n).fill(0);
  // Numbers in single precision, as tirelife.outlook.counter.packed writes them.
  const unpacked = (text) => new Float32Array(Uint8Array.from(atob(text), (c) => c.charCodeAt(0)).buffer);

  function pathDepth(start, worn, q) {
    if (q === 0) return start - worn;
    const left = 1 - q, share = worn / start;
    if (Math.abs(left) < 1e-7) return start * Math.exp(-share);
    return start * Math.exp(Math.log(Math.max(1 - left * share, 1e-9)) / left);
  }
  // Inverse of a symmetric positive matrix of a few rows.
  function inverse(matrix) {
    const n = matrix.length, a = matrix.map((row, i) => [...row, ...row.map((_, j) => (i === j ? 1 : 0))]);
    for (let i = 0; i < n; i++) {
      const pivot = a[i][i];
      for (let j = 0; j < 2 * n; j++) a[i][j] /= pivot;
      for (let k = 0; k < n; k++)
        if (k !== i) {
          const by = a[k][i];
          for (let j = 0; j < 2 * n; j++) a[k][j] -= by * a[i][j];
        }
    }
    return a.map((row) => row.slice(n));
  }
  // Lower triangle whose square is the covariance, in the order axle, curvature, log rate, depth.
  function factors(cov) {
    const order = [2, 3, 1, 0], low = order.map(() => [0, 0, 0, 0]);
    for (let j = 0; j < 4; j++) {
      const whole = cov[order[j]][order[j]], rest = whole - dot(low[j].slice(0, j), low[j]);
      low[j][j] = rest > 1e-13 * whole ? Math.sqrt(rest) : 0;
      for (let i = j + 1; i < 4; i++) {
        const cross = cov[order[i]][order[j]] - dot(low[i].slice(0, j), low[j]);
        low[i][j] = low[j][j] > 0 ? cross / low[j][j] : 0;
      }
    }
    return low;
  }
  // The normal distribution: by its series (Marsaglia 2004), in the tails by its continued fraction; and back, by
  // Acklam's rational approximation (relative error 1.2e-9; from memory).
  function chanceUnder(x) {
    const bell = Math.exp(-x * x / 2) / Math.sqrt(2 * Math.PI);
    if (Math.abs(x) > 5) {
      let rest = 0;
      for (let k = 40; k > 0; k--) rest = k / (Math.abs(x) + rest);
      const tail = bell / (Math.abs(x) + rest);
      return x < 0 ? tail : 1 - tail;
    }
    let total = x, term = x;
    for (let k = 3; Math.abs(term) > 1e-17; k += 2) total += term *= x * x / k;
    return 0.5 + bell * total;
  }
  function scoreOf(p) {
    const tail = (q) => (((((-7.784894002430293e-3 * q - 0.3223964580411365) * q - 2.400758277161838) * q - 2.549732539343734) * q
      + 4.374664141464968) * q + 2.938163982698783) / ((((7.784695709041462e-3 * q + 0.3224671290700398) * q + 2.445134137142996) * q
      + 3.754408661907416) * q + 1);
    if (p < 0.02425) return tail(Math.sqrt(-2 * Math.log(p)));
    if (p > 1 - 0.02425) return -tail(Math.sqrt(-2 * Math.log(1 - p)));
    const q = p - 0.5, r = q * q;
    return (((((-39.69683028665376 * r + 220.9460984245205) * r - 275.9285104469687) * r + 138.3577518672690) * r
      - 30.66479806614716) * r + 2.506628277459239) * q / (((((-54.47609879822406 * r + 161.5858368580409) * r
      - 155.6989798598866) * r + 66.80131188771972) * r - 13.28068155288572) * r + 1);
  }

  // What was held, with the walk of each tire's path and of its log rate on the way after it: weighing._with_walk.
  function withWalk(law, mean, cov, run) {
    const n = (mean.length - 1) / 2, size = 4 * n + 1, half = Math.exp(mean[2 * n] / 2);
    const b = run[0].map((km, i) => km * half + run[1][i] / half), spread = [];
    for (let i = 0; i < size; i++) spread.push(i < mean.length ? [...cov[i], ...zeros(2 * n)] : zeros(size));
    for (let i = 0; i < n; i++)
      for (let j = 0; j < n; j++) {
        const walk = law.wander * (i === j ? 1 : law.walk_share), a = Math.sqrt(b[i]), c = Math.sqrt(b[j]);
        spread[2 * n + 1 + i][2 * n + 1 + j] = walk * b[i] * a * b[j] * c / 3 + (i === j ? law.scatter * b[i] : 0);
        spread[2 * n + 1 + i][3 * n + 1 + j] = spread[3 * n + 1 + j][2 * n + 1 + i] = walk * b[i] * a * c / 2;
        spread[3 * n + 1 + i][3 * n + 1 + j] = walk * a * c;
      }
    return [[...mean, ...zeros(2 * n)], spread];
  }
  function pathOf(at, run, q) {
    const n = (at.length - 1) / 4, half = Math.exp(at[2 * n] / 2);
    return run[0].map((km, i) => {
      const base = Math.max(at[i], BOUND), rate = Math.exp(at[n + i]), ahead = km * half, behind = run[1][i] / half;
      const worn = rate * (ahead + behind + at[2 * n + 1 + i]), depth = pathDepth(base, worn, q), by = zeros(at.length);
      const slope = q === 0 ? 1 : (Math.max(depth, BOUND) / base) ** q;
      by[i] = q === 0 ? 1 : depth / base + slope * worn / base;
      by[n + i] = -slope * worn;
      by[2 * n] = -slope * rate * (ahead - behind) / 2;
      by[2 * n + 1 + i] = -slope * rate;
      return { base, depth, by };
    });
  }
  // Spread of what was held times the rows' derivatives, and the rows' own covariance with the readings' errors.
  function pulled(spread, rows, error, seen) {
    const pull = rows.map((row) => spread.map((one) => dot(one, row.by)));
    return [pull, rows.map((row, i) => pull.map((p, j) => dot(row.by, p) + error[seen[i]][seen[j]]))];
  }
  function oddBy(law, mean, cov, run, read, error) {
    const [held, spread] = withWalk(law, mean, cov, run), seen = [...read.keys()].filter((i) => read[i] !== null);
    const path = pathOf(held, run, law.q_mean), rows = seen.map((i) => path[i]);
    const whole = pulled(spread, rows, error, seen)[1], off = seen.map((i) => read[i] - path[i].depth);
    return Math.max(...off.map((v, i) => Math.abs(v) / Math.sqrt(whole[i][i])),
      Math.abs(sum(off)) / Math.sqrt(sum(whole.map(sum))));
  }
  // Tires after a visit: weighing.weigh. `read` holds null where a tire was not; `rule` has rounds and step.
  function weigh(rule, law, mean, cov, run, read, error, start) {
    const n = read.length, q = law.q_mean, [held, spread] = withWalk(law, mean, cov, run);
    const seen = [...read.keys()].filter((i) => read[i] !== null);
    let at = held.slice();
    for (let round = 0; round < rule.rounds && seen.length; round++) {
      const path = pathOf(at, run, q), rows = seen.map((i) => path[i]), [pull, whole] = pulled(spread, rows, error, seen);
      const gap = held.map((h, j) => h - at[j]), off = seen.map((i) => read[i] - path[i].depth - dot(path[i].by, gap));
      const weight = inverse(whole).map((row) => dot(row, off));
      const step = gap.map((g, j) => g + sum(pull.map((p, k) => p[j] * weight[k])));
      const most = Math.max(...step.slice(n, 2 * n + 1).map(Math.abs)), part = most > 0 ? Math.min(1, rule.step / most) : 1;
      at = at.map((v, j) => v + part * step[j]);
    }
    const path = pathOf(at, run, q), [pull, whole] = pulled(spread, seen.map((i) => path[i]), error, seen), weight = inverse(whole);
    const after = (a, b) => {
      const left = pull.map((p) => dot(p, a)), right = pull.map((p) => dot(p, b));
      return dot(spread.map((row) => dot(row, b)), a) - dot(left, weight.map((row) => dot(row, right)));
    };
    const views = path.map((f, i) => {
      const left = Math.max(f.depth, BOUND), rate = f.by.map((v) => q / left * v), axle = zeros(at.length);
      rate[i] -= q / f.base; rate[n + i] += 1; rate[3 * n + 1 + i] += 1; axle[2 * n] = 1;
      const turn = turnOfRate(start[i], f.depth, q);
      return { rows: [f.by, rate, axle], turn, mean: [f.depth, at[n + i] + q * Math.log(left / f.base) + at[3 * n + 1 + i], at[2 * n], q] };
    });
    return views.map((view, i) => {
      const cov = view.rows.map((a) => [...view.rows.map((b) => after(a, b)), 0]);
      const others = views.filter((_, j) => j !== i).map((other) => after(view.rows[1], other.rows[1]));
      const common = others.length ? sum(others) / others.length : cov[1][1] * law.alone_share, with_q = view.turn * law.q_var;
      cov[1][1] += view.turn * with_q; cov[1][3] = with_q;
      return { mean: view.mean, cov: [...cov, [0, with_q, 0, law.q_var]], common };
    });
  }
  function turnOfRate(start, depth, q) {
    const fall = Math.min(Math.log(Math.max(depth, BOUND) / Math.max(start, BOUND)), 0), power = 1 - q, bent = power * fall;
    const byPower = Math.abs(bent) < 1e-4 ? fall / 2 : fall * Math.exp(bent) / Math.expm1(bent) - 1 / power;
    return fall - byPower;
  }

  function of(tables) {
    const all = (texts) => Object.fromEntries(Object.entries(texts).map(([name, text]) => [name, Array.isArray(text) ? text.map(unpacked) : unpacked(text)]));
    const { shared: mutual, own: each_, ...rest } = tables.draws, shared = all(mutual), draws = Object.assign(all(rest), { own: all(each_) });
    const count = draws.turns.length, known = {}, laws = {};
    const lawOf = (name) => (laws[name] = laws[name] || Object.assign({}, tables.drives[name], all(tables.drives[name].points)));
    const carLaw = tables.cars ? Object.assign({}, tables.car_law, all(tables.car_law.points)) : null;
    const each = (work) => { const out = new Float64Array(count); for (let i = 0; i < count; i++) out[i] = work(i); return out; };

    // Walk-ins: counter.py.
    function startOf(visit, line) {
      const fresh = tables.new_depth, stated = visit.new_depth_mm === null ? line.new_depth_mm : visit.new_depth_mm;
      if (stated === null)
        return { mean: fresh.mean, shared: fresh.sd ** 2, own: fresh.own_sd ** 2, told: false };
      return { mean: stated + line.start_mean, shared: line.start_sd ** 2, own: fresh.start_sd ** 2, told: true };
    }
    function axleKm(km, turns) {
      const moves = turns ? Math.max(Math.ceil(km / tables.rotation_km) - 1, 0) : 0;
      const other = Math.floor((moves + 1) / 2) * tables.rotation_km;
      return [km - other, other];
    }
    function seemsRotated(worn, km, severity) {
      if (km < tables.rotation_km || ROAD.some((p) => !(p in worn))) return false;
      const ahead = (worn.LF + worn.RF) / 2, behind = (worn.LR + worn.RR) / 2;
      const stay = Math.abs(Math.log(severity[0] / severity[1]));
      return Math.min(ahead, behind) > 0 && Math.abs(Math.log(ahead / behind)) < stay / 2;
    }
    function unread(law, line, read) {
      const rate = law.rate_mean + line.mean, common = law.shared_var + line.sd ** 2;
      const spread = [tables.unread_var, common + law.own_var, law.axle_var, law.q_var];
      return read.map((depth) => ({ mean: [depth, rate, law.axle_mean, law.q_mean], common,
        cov: spread.map((v, i) => spread.map((_, j) => (i === j ? v : 0))) }));
    }
    function conditioned(law, line, start, read, places, severity, km) {
      const n = read.length, common = law.shared_var + line.sd ** 2, begun = read.map((_, i) => (Array.isArray(start.mean) ? start.mean[i] : start.mean));
      const run = [places.map((p) => (front(p) ? km[0] : km[1]) * severity[0]), places.map((p) => (front(p) ? km[1] : km[0]) * severity[1])];
      const cov = zeros(2 * n + 1).map((_, i) => zeros(2 * n + 1).map((_, j) => (i < n && j < n ? start.shared + (i === j ? start.own : 0)
        : i >= n && j >= n && i < 2 * n && j < 2 * n ? common + (i === j ? law.own_var : 0) : i === 2 * n && j === 2 * n ? law.axle_var : 0)));
      const error = read.map((_, i) => read.map((_, j) => tables.visit_sd ** 2 + (i === j ? tables.noise_sd ** 2 : 0)));
      const mean = [...begun, ...read.map(() => law.rate_mean + line.mean), law.axle_mean];
      return weigh(tables, Object.assign({ alone_share: common / (common + law.own_var) }, law), mean, cov, run, read, error, begun);
    }
    function walkIn(visit, places) {
      const drive = visit.drive || "front", law = lawOf(drive), line = tables.lines[visit.line] || tables.lines[""];
      const severity = tables.severity[drive][[visit.roads, visit.stops, visit.turns].join(" ")];
      const onward = visit.ahead ? tables.severity[drive][visit.ahead] : severity, read = places.map((p) => visit.least_mm[p]);
      const start = startOf(visit, line), known = visit.distance_km !== null;
      let turns = visit.rotated, chance = law.chance, seemed = false, begun = start;
      if (visit.before_mm) {
        begun = { mean: places.map((p) => visit.before_mm[p]), shared: tables.visit_sd ** 2, own: tables.noise_sd ** 2 };
        if (turns !== null) chance = turns ? 1 : 0;
        turns = false;
      } else if (turns === null) {
        const worn = Object.fromEntries(places.map((p, i) => [p, start.mean - read[i]]));
        turns = known && start.told && seemsRotated(worn, visit.distance_km, severity);
        if (turns) [chance, seemed] = [tables.seemed_chance, true];
      } else chance = turns ? 1 : 0;
      const laws = known
        ? conditioned(law, line, begun, read, places, severity, axleKm(visit.distance_km, turns)) : unread(law, line, read);
      return { law, seemed, chance, drive: visit.drive, refused: null, since: null, pace: tables.pace,
        perDay: visit.km_per_year === null ? tables.pace.km_per_day : visit.km_per_year / 365.25,
        logSd: visit.km_per_year === null ? tables.pace.log_sd : tables.pace.told_log_sd, due: law.due, between: law.between,
        tires: places.map((p, i) => ({ law: laws[i], limit: visit.limit_mm[p], limitSd: 0, bend: 0, here: onward[front(p) ? 0 : 1],
          there: onward[front(p) ? 1 : 0], age: Infinity, coded: false, fresh: start.mean, depth: Math.max(laws[i].mean[0], 0) })) };
    }

    // Cars of the shop: returning.py.
    function carOf(name) {
      if (!known[name]) {
        const values = unpacked(tables.cars[name].numbers);
        let from = 0;
        known[name] = Object.fromEntries(Object.entries(tables.car_fields).map(([field, size]) =>
          [field, Array.from(values.subarray(from, from += size))]));
      }
      return known[name];
    }
    function heldOf(car, visit) {
      const law = carLaw, size = car.mean.length, km = visit.odometer_km - car.at[0], cov = car.mean.map(() => zeros(size));
      for (let i = 0, k = 0; i < size; i++) for (let j = 0; j <= i; j++, k++) cov[i][j] = cov[j][i] = car.cov[k];
      const run = [car.front.map((v, i) => v + (i < 2 ? car.onward[i] * km : 0)), car.rear.map((v, i) => v + (i < 2 ? 0 : car.onward[i] * km))];
      const from = visit.mean_mm || visit.least_mm, read = ROAD.map((p) => (p in from ? from[p] : null));
      const times = ROAD.map((p) => law.grooves[((visit.grooves || {})[p] || 1) - 1]);
      const error = times.map((t, i) => times.map((_, j) => law.visit_var + (i === j ? law.noise_var * t : 0)));
      return [car.mean, cov, run, read, error];
    }
    function history(visit) {
      if (!visit.car || visit.odometer_km === null || visit.odometer_km === undefined || !tables.cars || !Object.hasOwn(tables.cars, visit.car))
        return "none";
      const car = carOf(visit.car);
      if (visit.odometer_km < car.at[0]) return "back";
      if (visit.rotated) return "moved";
      return oddBy(carLaw, ...heldOf(car, visit)) > carLaw.odd ? "unfit" : "used";
    }
    // What a car's wheels should read today, and how surely, as Slips takes it; null where nothing is held of it.
    function expect(visit) {
      if (history(visit) === "none" || history(visit) === "back") return null;
      const law = carLaw, [mean, cov, run, read, error] = heldOf(carOf(visit.car), visit), [held, spread] = withWalk(law, mean, cov, run);
      const seen = [...read.keys()].filter((i) => read[i] !== null), path = pathOf(held, run, law.q_mean);
      const weight = inverse(pulled(spread, seen.map((i) => path[i]), error, seen)[1]), at = (i) => seen.indexOf(i);
      return { expected: read.map((v, i) => (v === null ? null : path[i].depth)),
        precision: read.map((v, i) => read.map((w, j) => (v === null || w === null ? (i === j ? 1 : 0) : weight[at(i)][at(j)]))) };
    }
    function travelDays(n, strength) {
      const months = carLaw.months, lengths = [31, 28.2425, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
      const scale = 365.2425 / dot(months, lengths), on = new Date(n * 86400000), month = on.getUTCMonth();
      const before = sum(lengths.slice(0, month).map((length, i) => (months[i] * scale - 1) * length));
      return n + strength * (before + (months[month] * scale - 1) * (on.getUTCDate() - 1));
    }
    function paceOf(law, car, visit) {
      let [level, relative, mean, days, end] = car.pace;
      const today = travelDays(visit.as_of, law.season), far = visit.odometer_km - car.at[0], took = today - end;
      const noise = law.year_log_sd ** 2, drift = law.drift_log_sd ** 2;
      if (took > 0) {
        const years = took / 365.25, total = ((days > 0 ? mean * days : 0) + far) / (days + took), step = Math.min(far / took, law.most_pace * total);
        if (Number.isNaN(level)) [level, relative] = [step, drift * years / 3 + noise / years];
        else {
          const wide = relative + drift * years / 3 + noise / years, gain = Math.min((relative + drift * years / 2) / wide, 1);
          relative = relative + drift * years - 2 * gain * (relative + drift * years / 2) + gain ** 2 * wide;
          level += gain * (step - level);
        }
        [mean, days] = [total, days + took];
      }
      if (Number.isNaN(level) || days <= 7) return [Math.exp(law.center), law.between];
      const own = relative / Math.max(level / mean, 0.3) ** 2, weight = law.between ** 2 / (law.between ** 2 + own);
      return [Math.exp(law.center + weight * (Math.log(Math.max(level, 0.1)) - law.center)), Math.sqrt(weight * own)];
    }
    function aheadOf(told, car, visit) {
      const law = carLaw, most = law.recent_km, km = visit.odometer_km - car.at[0], left = Math.max(most - km, 0), fresh = Math.min(km, most);
      const parts = car.recent.length / 4, place = left / most * parts, under = Math.min(Math.floor(place), parts - 1);
      const run = [], length = [];
      for (let i = 0; i < 4; i++) {
        const knots = [0, ...car.recent.slice(i * parts, (i + 1) * parts)];
        run.push(knots[under] + (knots[under + 1] - knots[under]) * (place - under) + car.onward[i] * fresh);
        length.push(Math.min(car.recent_km[i], left) + fresh);
        if (!(length[i] > 0)) [run[i], length[i]] = [car.onward[i], 1];
      }
      const ahead = (run[0] + run[1]) / (length[0] + length[1]), behind = (run[2] + run[3]) / (length[2] + length[3]);
      const severity = tables.severity[told.drive || "front"], so = severity[[visit.roads, visit.stops, visit.turns].join(" ")];
      const by = visit.ahead ? severity[visit.ahead].map((v, i) => v / so[i]) : [1, 1];
      return [run.map((v, i) => v / length[i] * by[i < 2 ? 0 : 1]), [behind, behind, ahead, ahead].map((v, i) => v * by[i < 2 ? 1 : 0])];
    }
    function returning(visit, places) {
      const law = carLaw, told = tables.cars[visit.car], car = carOf(visit.car), [mean, cov, run, read, error] = heldOf(car, visit);
      const found = weigh(tables, law, mean, cov, run, read, error, car.start), km = visit.odometer_km - car.at[0], [here, there] = aheadOf(told, car, visit);
      const [odds, longest, since, every, everySd] = car.turns, gone = since + km, sd = law.interval_log_sd;
      const early = -Math.log(Math.max(longest, gone, 1) / every), [share, lateSd] = law.late;
      const still = odds * ((1 - share) * chanceUnder(early / Math.hypot(sd, everySd)) + share * chanceUnder(early / lateSd));
      const [perDay, logSd] = visit.km_per_year === null ? paceOf(law, car, visit) : [visit.km_per_year / 365.25, tables.pace.told_log_sd];
      const past = chanceUnder((Math.log(gone) - Math.log(every)) / sd);
      const first = (i) => every * Math.exp(sd * scoreOf(Math.min(Math.max(past + (1 - past) * draws.interval[i], 1e-9), 1 - 1e-9)));
      return { law, seemed: false, chance: visit.rotated === null ? still / (1 + still) : visit.rotated ? 1 : 0, drive: told.drive,
        refused: told.refused ? "not-allowed" : null, since: Number.isNaN(car.since_moved[0]) ? null : car.since_moved[0] + km,
        pace: law, perDay, logSd, due: each((i) => Math.max(first(i) - gone, 1)), between: each((i) => every * Math.exp(everySd * shared.every[i])),
        tires: places.map((p) => {
          const i = ROAD.indexOf(p), tire = found[i], fresh = car.new[i], use = fresh - visit.limit_mm[p], ratio = car.ratio[i];
          const wide = tire.cov.map((row) => row.slice());
          wide[1][1] += car.factor_var[i];
          return { law: { mean: tire.mean, cov: wide, common: tire.common * car.shared[i] }, limit: use > 0 ? fresh - use / ratio : visit.limit_mm[p],
            limitSd: Math.max(use, 0) / ratio ** 2 * car.ratio_sd[i], bend: car.bend_log_sd[i], here: here[i], there: there[i], fresh,
            age: Number.isNaN(car.age_end[i]) ? Infinity : Math.max(car.age_end[i] - visit.as_of, 0), end: car.age_end[i], coded: car.age_coded[i] > 0,
            depth: Math.max(fresh - ratio * (fresh - tire.mean[0]), 0) };
        }) };
    }

    // Draws of the distance that a tire would go on an axle of mean wear, and of the square root of the axles' ratio.
    function levelOf(tire, seat, law) {
      const low = factors(tire.law.cov), own = draws.own, limit = Math.max(tire.limit, LEAST), mean = tire.law.mean;
      const through = low[2][0] ** 2 + low[2][1] ** 2, free = low[2][2] ** 2;
      const share = free > 0 ? Math.min(Math.max((tire.law.common - through) / free, 0), 0.98) : 0;
      const both = Math.sqrt(share), alone = Math.sqrt(1 - share), km = new Float64Array(count), half = new Float64Array(count);
      let middle = 0;
      for (let i = 0; i < count; i++) {
        const a = shared.axle[i], b = law.q_points[i], score = both * shared.vehicle[i] + alone * own.rate[seat][i];
        const q = mean[3] + low[1][0] * a + low[1][1] * b;
        const rate = Math.exp(mean[1] + low[2][0] * a + low[2][1] * b + low[2][2] * score);
        const drawn = mean[0] + low[3][0] * a + low[3][1] * b + low[3][2] * score + low[3][3] * own.depth[seat][i];
        const depth = Math.max(drawn, limit), power = 1 - q, fall = Math.log(limit / depth);
        km[i] = depth / rate * (Math.abs(power) < 1e-6 ? -fall : -Math.expm1(power * fall) / power);
        middle += km[i] / count;
        half[i] = Math.exp((mean[2] + low[0][0] * a) / 2);
      }
      const groove = tire.limitSd / (Math.exp(mean[1]) * (limit / Math.max(mean[0], limit)) ** mean[3]);
      const spread = Math.sqrt(law.scatter * Math.max(middle, 0) + groove ** 2);
      const together = Math.sqrt(law.walk_share), apart = Math.sqrt(1 - law.walk_share), bend = tire.bend ** 2;
      for (let i = 0; i < count; i++) {
        const left = Math.max(km[i] - spread * own.noise[seat][i], 0), walk = together * shared.walking[i] + apart * own.walking[seat][i];
        km[i] = left * Math.exp(-walk * Math.sqrt(law.wander * left / 3 + bend));
      }
      return { km, half };
    }
    function stays(level, tire, p) {
      const km = new Float64Array(count), other = new Float64Array(count), ratio = tire.there / tire.here, ahead = front(p);
      for (let i = 0; i < count; i++) {
        const power = ahead ? level.half[i] : 1 / level.half[i];
        km[i] = level.km[i] / (tire.here * power);
        other[i] = ratio / (power * power);
      }
      return { km, other };
    }
    // The last visit's draws are used again: what lies ahead of it changes none of them.
    let last = { key: "", level: {} };
    function levels(visit, held, places) {
      const key = JSON.stringify([visit, held.law === carLaw], (name, value) => (name === "ahead" || name === "km_per_year" ? undefined : value));
      if (last.key !== key)
        last = { key, level: Object.fromEntries(places.map((p, i) => [p, levelOf(held.tires[i], ROAD.indexOf(p), held.law)])) };
      return last.level;
    }
    function certain(km, down) {
      if (down) return new Float64Array(count);
      let beyond = 0;
      for (let i = 0; i < count; i++) if (km[i] > LONGEST) beyond++;
      return beyond / count > 0.5 ? null : km;
    }
    // A set that takes turns with another: counter.turn_of_set, and seasons.calendar_days.
    function turnOf(visit) {
      if (!visit.set_now) return null;
      const [on, begins, ends] = tables.sets[visit.set_now], modulo = (v) => ((v % 365.25) + 365.25) % 365.25;
      const dayOfYear = visit.as_of - Date.UTC(new Date(visit.as_of * 86400000).getUTCFullYear(), 0, 1) / 86400000 + 1;
      const mounted = modulo(ends - begins), into = modulo(dayOfYear - begins);
      return { on, mounted, until: on ? Math.max(mounted - into, 0) : into >= mounted ? 365.25 - into : 0 };
    }
    function calendarDays(use, turn) {
      if (use === Infinity) return use;
      const left = use - turn.on * turn.until, whole = Math.max(Math.ceil(left / turn.mounted - 1e-9) - 1, 0);
      return left > 0 ? turn.until + whole * 365.25 + turn.on * (365.25 - turn.mounted) + (left - whole * turn.mounted) : use;
    }
    function days(km, held, age, turn) {
      const year = held.pace.year_log_sd ** 2, drift = held.pace.drift_log_sd ** 2 / 3;
      return each((i) => {
        const plain = km[i] / held.perDay, years = Math.max(plain / 365.25, 1 / 12);
        const use = plain * Math.exp(-held.logSd * shared.level[i] - Math.sqrt(year / years + drift * years) * shared.year[i]);
        return Math.min(turn ? calendarDays(use, turn) : use, age);
      });
    }
    function lowest(rows) {
      if (!rows.length) return null;
      const out = Float64Array.from(rows[0]);
      for (const row of rows) for (let i = 0; i < count; i++) if (row[i] < out[i]) out[i] = row[i];
      return out;
    }
    function told(km, left, asOf) {
      if (km === null) return { km: [null, null, null, null, null], dates: [null, null, null, null, null] };
      const dates = Draws.quantiles(left, tables.probabilities).map((n) =>
        n <= tables.horizon_days ? asOf + Math.floor(n + 1e-9) : null);
      return { km: Draws.quantiles(km, tables.probabilities), dates };
    }
    function verdict(least, limit) {
      if (least <= limit + SAME) return "at-or-under";
      return least <= limit + tables.near_mm + SAME ? "near" : "over";
    }

    // Draws of the distance and the days of each tire that was read, null where none can be told.
    function ahead(visit) {
      const places = ROAD.filter((p) => p in visit.least_mm), past = history(visit);
      const held = past === "used" ? returning(visit, places) : walkIn(visit, places), level = levels(visit, held, places);
      const turn = turnOf(visit), judged = {}, here = {}, km = {}, left = {};
      // Distances with the axles taking turns: `due` and `every` by draw, null for a tire that stays.
      const turned = (p, due, every) => certain(every === null ? here[p].km : each((i) => {
        const between = every(i);
        return between === null ? here[p].km[i] : Draws.throughRotations(here[p].km[i], due(i), between, here[p].other[i]);
      }), judged[p] === "at-or-under");
      places.forEach((p, i) => {
        judged[p] = verdict(visit.least_mm[p], visit.limit_mm[p]);
        here[p] = stays(level[p], held.tires[i], p);
        km[p] = turned(p, (j) => held.due[j], (j) => (draws.turns[j] < held.chance ? held.between[j] : null));
        left[p] = km[p] === null ? null : days(km[p], held, held.tires[i].age, turn);
      });
      const sure = places.filter((p) => km[p] !== null), least = lowest(sure.map((p) => km[p])), soonest = lowest(sure.map((p) => left[p]));
      return { places, past, held, turn, judged, km, left, turned, sure, least, soonest };
    }
    // Middle of the distance and of the day of the first tire due; null where none can be told.
    function middle(visit) {
      const { least, soonest } = ahead(visit), half = [0.5];
      if (least === null) return { km: null, date: null };
      const [n] = Draws.quantiles(soonest, half);
      return { km: Draws.quantiles(least, half)[0], date: n <= tables.horizon_days ? visit.as_of + Math.floor(n + 1e-9) : null };
    }
    function answer(visit) {
      const { places, past, held, turn, judged, km, left, turned, sure, least, soonest } = ahead(visit), tires = {}, facts = {};
      places.forEach((p, i) => {
        const tire = held.tires[i], found = told(km[p], left[p], visit.as_of), due = found.dates[2];
        tires[p] = Object.assign(found, { verdict: judged[p], read_mm: visit.least_mm[p], limit_mm: visit.limit_mm[p], depth_mm: tire.depth });
        const number = (v) => (v === null ? NaN : v);
        facts[p] = {
          read_mm: visit.least_mm[p], read_raw_mm: visit.least_mm[p], at_limit: judged[p] === "at-or-under", near_limit: judged[p] === "near", fits: true,
          depth_mm: tire.depth, new_depth_mm: tire.fresh, km_p10: number(found.km[0]), km_p50: number(found.km[2]),
          km_p90: number(found.km[4]), date_p10: found.dates[0], date_p50: due, date_p90: found.dates[4],
          by_age: tire.age < Infinity && ((due !== null && tire.end <= due) || (tire.coded && due === null)), loss_kpa_per_month: 0,
        };
      });
      const overall = told(least, soonest, visit.as_of), first = {};
      const won = sure.map(() => 0);
      for (let i = 0; least !== null && i < count; i++) {
        const ties = sure.reduce((n, p) => n + (km[p][i] === least[i] ? 1 : 0), 0);
        sure.forEach((p, j) => { if (km[p][i] === least[i]) won[j] += 1 / ties / count; });
      }
      sure.forEach((p, j) => { if (won[j] > 0) first[p] = won[j]; });
      const every = tables.rules.service_km, way = (due, of) => lowest(places.map((p) => turned(p, due, of)).filter((v) => v !== null));
      const wait = held.since === null ? 0 : Math.max(every - held.since, 0), usual = () => every;
      const now = way(() => 0, usual), due = wait > 0 ? way(() => wait, usual) : now, stay = way(null, null);
      const median = (v) => (v === null ? NaN : Draws.median(v)), over = Draws.chanceLonger;
      return {
        tires, overall, seemed: held.seemed, history: past, turn,
        spare: "SP" in visit.least_mm ? verdict(visit.least_mm.SP, visit.limit_mm.SP) : null,
        facts: {
          vehicle_id: "counter", drive: held.drive, as_of: visit.as_of, km_per_day: held.perDay,
          limit_mm: Object.fromEntries(places.map((p) => [p, visit.limit_mm[p]])), tires: facts, first_chance: first,
          checks: [], low_kpa: 0, low_assumed: false, pressure_known: false, placard_stated: true,
          rotation: {
            since_km: held.since === null ? NaN : held.since, every_km: every, refused: held.refused, assumed: "", now_km: median(now),
            due_km: median(due), never_km: median(stay), now_over_due: over(now, due), due_over_never: over(due, stay),
            now_over_never: over(now, stay),
          },
          window: overall.dates[0] !== null && overall.dates[4] !== null ? [overall.dates[0], overall.dates[4]] : null,
        },
      };
    }
    // Day and odometer of the last reading of a car of the tables, or null.
    const lastOf = (name) => (tables.cars && Object.hasOwn(tables.cars, name) ? { km: carOf(name).at[0], day: carOf(name).at[1] } : null);
    return { answer, middle, history, expect, lastOf, turnOf };
  }
  return { of };
})();
