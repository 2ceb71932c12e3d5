// What a visit's depths say through the shop's own fit: twin of tirelife/outlook/counter.py (conditioning) and of
// tirelife/outlook/ahead.py (draws ahead) for tires that were read today. A test compares both in a browser.
//
// Model.of(tables) -> { answer(visit) }
// visit: { least_mm {position}, limit_mm {position}, as_of (a day), distance_km, km_per_year, new_depth_mm (null: not
//   known), line, drive, roads, stops, turns, rotated (true, false or null), ahead ("roads stops turns" from today on,
//   or null: as so far), before_mm {position} (what the same wheels read at an earlier visit, distance_km being what was
//   run since; or null) }
// answer -> { seemed (the wheels look as if they had been rotated), tires { position: { km [5], dates [5], verdict, read_mm, limit_mm, depth_mm, new_depth_mm } }, overall
//   { km, dates }, facts (for Decide), spare (its verdict or null) }; a day is a number, not known is null.
const Model = (function () {
  const ROAD = ["LF", "RF", "LR", "RR"], BOUND = 0.05, LEAST = 0.02, SAME = 1e-6, LONGEST = 1e6;
  const front = (p) => p === "LF" || p === "RF";
  const sum = (values) => values.reduce((s, v) => s + v, 0);
  const dot = (a, b) => a.reduce((s, v, i) => s + v * b[i], 0);

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
      const whole = cov[order[j]][order[j]], rest = whole - dot(low[j].slice(0, j), low[j].slice(0, j));
      low[j][j] = rest > 1e-13 * whole ? Math.sqrt(rest) : 0;
      for (let i = j + 1; i < 4; i++) {
        const cross = cov[order[i]][order[j]] - dot(low[i].slice(0, j), low[j].slice(0, j));
        low[i][j] = low[j][j] > 0 ? cross / low[j][j] : 0;
      }
    }
    return low;
  }

  function of(tables) {
    const draws = tables.draws, shared = draws.shared, count = draws.turns.length;

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
    function conditioned(law, line, start, read, places, severity, run) {
      const n = read.length, size = 4 + 2 * n, q = law.q_mean, own = read.map((_, i) => 4 + 2 * i);
      const ahead = places.map((p) => (front(p) ? run[0] : run[1]) * severity[0]);
      const behind = places.map((p) => (front(p) ? run[1] : run[0]) * severity[1]);
      const held = new Array(size).fill(0), spread = new Array(size).fill(0), noise = tables.noise_sd ** 2;
      held[0] = law.rate_mean + line.mean; held[1] = law.axle_mean;
      spread[0] = law.shared_var + line.sd ** 2; spread[1] = law.axle_var; spread[2] = start.shared;
      spread[3] = tables.visit_sd ** 2;
      own.forEach((at, i) => {
        const along = ahead[i] + behind[i];
        held[at + 1] = Array.isArray(start.mean) ? start.mean[i] : start.mean;
        spread[at] = law.own_var;
        spread[at + 1] = start.own + Math.exp(2 * held[0]) * (law.scatter * along + law.wander * along ** 3 / 3);
      });
      function path(at) {
        const half = Math.exp(at[1] / 2);
        return own.map((o, i) => {
          const begun = Math.max(at[2] + at[o + 1], BOUND), one = ahead[i] * half, other = behind[i] / half;
          const rate = Math.exp(at[0] + at[o]), worn = rate * (one + other), depth = pathDepth(begun, worn, q);
          const slope = q === 0 ? 1 : (Math.max(depth, BOUND) / begun) ** q, by = new Array(size).fill(0);
          by[0] = by[o] = -slope * worn;
          by[1] = -slope * rate * (one - other) / 2;
          by[2] = by[o + 1] = q === 0 ? 1 : depth / begun + slope * worn / begun;
          return { depth, begun, by, seen: by.map((v, j) => (j === 3 ? 1 : v)) };
        });
      }
      const between = (a, b) => a.reduce((s, v, j) => s + v * spread[j] * b[j], 0);
      const weigh = (found) => found.map((a, i) => found.map((b, j) => between(a.seen, b.seen) + (i === j ? noise : 0)));
      let at = held.slice();
      for (let round = 0; round < tables.rounds; round++) {
        const found = path(at), weight = inverse(weigh(found));
        const off = found.map((f, i) => read[i] - f.depth - at[3] - dot(f.seen, held.map((h, j) => h - at[j])));
        const pull = weight.map((row) => dot(row, off));
        const step = held.map((h, j) => h + spread[j] * sum(found.map((f, i) => f.seen[j] * pull[i])) - at[j]);
        const most = Math.max(Math.abs(step[0]), Math.abs(step[1]), ...own.map((o) => Math.abs(step[o])));
        const part = most > 0 ? Math.min(1, tables.step / most) : 1;
        at = at.map((v, j) => v + part * step[j]);
      }
      const found = path(at), weight = inverse(weigh(found));
      // Covariance of two linear views of the unknowns, after the readings.
      const after = (a, b) => {
        const left = found.map((f) => between(a, f.seen)), right = found.map((f) => between(b, f.seen));
        return between(a, b) - dot(left, weight.map((row) => dot(row, right)));
      };
      const views = found.map((f, i) => {
        const left = Math.max(f.depth, BOUND), rate = f.by.map((v) => q / left * v), axle = new Array(size).fill(0);
        rate[0] += 1; rate[own[i]] += 1; rate[2] -= q / f.begun; rate[own[i] + 1] -= q / f.begun; axle[1] = 1;
        return { rows: [f.by, rate, axle], mean: [f.depth, at[0] + at[own[i]] + q * Math.log(left / f.begun), at[1], q] };
      });
      const level = held.map((_, j) => (j === 0 ? 1 : 0));
      return views.map((view, i) => {
        const cov = view.rows.map((a) => [...view.rows.map((b) => after(a, b)), 0]);
        const others = views.filter((_, j) => j !== i).map((other) => after(view.rows[1], other.rows[1]));
        return { mean: view.mean, cov: [...cov, [0, 0, 0, law.q_var]],
          common: others.length ? sum(others) / others.length : after(level, level) };
      });
    }

    // Draws of the distance that a tire would go if it stayed where it is, and of the wear on the other axle over here.
    function stays(tire, seat, law, limitMm, here, there) {
      const low = factors(tire.cov), own = draws.own, limit = Math.max(limitMm, LEAST), side = seat < 2 ? 1 : -1;
      const through = low[2][0] ** 2 + low[2][1] ** 2, free = low[2][2] ** 2;
      const share = free > 0 ? Math.min(Math.max((tire.common - through) / free, 0), 0.98) : 0;
      const half = [], ahead = [];
      for (let i = 0; i < count; i++) {
        const a = shared.axle[i], b = law.q_points[i];
        const score = Math.sqrt(share) * shared.vehicle[i] + Math.sqrt(1 - share) * own.rate[seat][i];
        const q = tire.mean[3] + low[1][0] * a + low[1][1] * b;
        const rate = Math.exp(tire.mean[1] + low[2][0] * a + low[2][1] * b + low[2][2] * score);
        const drawn = tire.mean[0] + low[3][0] * a + low[3][1] * b + low[3][2] * score + low[3][3] * own.depth[seat][i];
        const depth = Math.max(drawn, limit), power = 1 - q, fall = Math.log(limit / depth);
        const near = Math.abs(power) < 1e-6;
        ahead.push(depth / rate * (near ? -fall : -Math.expm1(power * fall) / power));
        half.push(Math.exp((tire.mean[2] + low[0][0] * a) / 2));
      }
      const spread = Math.sqrt(law.scatter * Math.max(sum(ahead) / count, 0)), km = [], other = [];
      for (let i = 0; i < count; i++) {
        const left = Math.max(ahead[i] - spread * own.noise[seat][i], 0);
        const walk = Math.sqrt(law.walk_share) * shared.walking[i] + Math.sqrt(1 - law.walk_share) * own.walking[seat][i];
        const power = half[i] ** side;
        km.push(left * Math.exp(-walk * Math.sqrt(law.wander * left / 3)) / (here * power));
        other.push(there / here / power ** 2);
      }
      return { km, other };
    }
    function certain(km, down) {
      if (down) return km.map(() => 0);
      return Draws.median(km) > LONGEST ? null : km;
    }
    function days(km, perDay, logSd) {
      const pace = tables.pace;
      return km.map((v, i) => {
        const plain = v / perDay, years = Math.max(plain / 365.25, 1 / 12);
        const sd = Math.sqrt(pace.year_log_sd ** 2 / years + pace.drift_log_sd ** 2 * years / 3);
        return plain * Math.exp(-logSd * shared.level[i] - sd * shared.year[i]);
      });
    }
    const lowest = (rows) => (rows.length ? rows[0].map((_, i) => Math.min(...rows.map((row) => row[i]))) : null);
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

    function answer(visit) {
      const law = tables.drives[visit.drive || "front"], line = tables.lines[visit.line] || tables.lines[""];
      const severity = tables.severity[visit.drive || "front"][[visit.roads, visit.stops, visit.turns].join(" ")];
      const onward = visit.ahead ? tables.severity[visit.drive || "front"][visit.ahead] : severity;
      const places = ROAD.filter((p) => p in visit.least_mm), read = places.map((p) => visit.least_mm[p]);
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
      const perDay = visit.km_per_year === null ? tables.pace.km_per_day : visit.km_per_year / 365.25;
      const logSd = visit.km_per_year === null ? tables.pace.log_sd : tables.pace.told_log_sd;
      const judged = {}, held = {}, km = {}, left = {}, tires = {}, facts = {};
      places.forEach((p, i) => {
        judged[p] = verdict(read[i], visit.limit_mm[p]);
        held[p] = stays(laws[i], ROAD.indexOf(p), law, visit.limit_mm[p], onward[front(p) ? 0 : 1], onward[front(p) ? 1 : 0]);
      });
      // Distances with the axles taking turns: `due` and `every` by draw, null for a tire that stays.
      const turned = (p, due, every) => certain(held[p].km.map((v, i) => every(i) === null ? v
        : Draws.throughRotations(v, due(i), every(i), held[p].other[i])), judged[p] === "at-or-under");
      const goes = draws.turns.map((u) => u < chance);
      places.forEach((p, i) => {
        km[p] = turned(p, (j) => law.due[j], (j) => (goes[j] ? law.between[j] : null));
        left[p] = km[p] === null ? null : days(km[p], perDay, logSd);
        const found = told(km[p], left[p], visit.as_of), depth = Math.max(laws[i].mean[0], 0);
        tires[p] = Object.assign(found, { verdict: judged[p], read_mm: read[i], limit_mm: visit.limit_mm[p], depth_mm: depth });
        const number = (v) => (v === null ? NaN : v);
        facts[p] = {
          read_mm: read[i], read_raw_mm: read[i], at_limit: judged[p] === "at-or-under", near_limit: judged[p] === "near", fits: true,
          depth_mm: depth, new_depth_mm: start.mean, km_p10: number(found.km[0]), km_p50: number(found.km[2]),
          km_p90: number(found.km[4]), date_p10: found.dates[0], date_p50: found.dates[2], date_p90: found.dates[4],
          by_age: false, loss_kpa_per_month: 0,
        };
      });
      const sure = places.filter((p) => km[p] !== null), least = lowest(sure.map((p) => km[p]));
      const overall = told(least, lowest(sure.map((p) => left[p])), visit.as_of);
      const first = {};
      if (least !== null) {
        const ties = least.map((v, i) => sure.filter((p) => km[p][i] === v).length);
        for (const p of sure) {
          const won = sum(km[p].map((v, i) => (v === least[i] ? 1 / ties[i] : 0))) / count;
          if (won > 0) first[p] = won;
        }
      }
      const every = tables.rules.service_km, never = () => null;
      const way = (due, of) => {
        const all = places.map((p) => turned(p, due, of)).filter((v) => v !== null);
        return lowest(all);
      };
      const now = way(() => 0, () => every), stay = way(never, never);
      const middle = (v) => (v === null ? NaN : Draws.median(v));
      const over = Draws.chanceLonger;
      return {
        tires, overall, seemed,
        spare: "SP" in visit.least_mm ? verdict(visit.least_mm.SP, visit.limit_mm.SP) : null,
        facts: {
          vehicle_id: "counter", drive: visit.drive, as_of: visit.as_of, km_per_day: perDay,
          limit_mm: Object.fromEntries(places.map((p) => [p, visit.limit_mm[p]])), tires: facts, first_chance: first,
          checks: [], low_kpa: 0, low_assumed: false, pressure_known: false,
          rotation: {
            since_km: NaN, every_km: every, refused: null, assumed: "", now_km: middle(now), due_km: middle(now),
            never_km: middle(stay), now_over_due: over(now, now), due_over_never: over(now, stay),
            now_over_never: over(now, stay),
          },
          window: overall.dates[0] !== null && overall.dates[4] !== null ? [overall.dates[0], overall.dates[4]] : null,
        },
      };
    }
    return { answer };
  }
  return { of };
})();
