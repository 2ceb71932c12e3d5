// The decision on one vehicle, from facts to actions: codes and arguments, no words. Twin of tirelife/advice
// (deciding.py, replacing.py, rotating.py); a test compares the two over a grid of settings for many vehicles.
//
// Decide.decide(facts, rules) -> { as_of, actions, first, first_chance, severity, may_rotate }
// Decide.of(decision, kind)   -> its actions of one kind
// Decide.has(action, code)    -> whether the action rests on that reason
// Decide.lookKm(facts, rules) -> distance to the next look at the usual service
// Decide.usualWay(facts, rules) -> distance of the set rotated as usual, and the chance that it beats never rotating
//
// facts: as tirelife.advice.Facts, names and units alike (mm, km, kPa), but a day is a number (days since
//   1970-01-01), an unknown number NaN and an unknown day or window null: vehicle_id, drive, as_of, km_per_day,
//   limit_mm {position}, tires {position: {read_mm, read_raw_mm, at_limit, near_limit, fits, depth_mm, new_depth_mm, km_p10,
//   km_p50, km_p90, date_p10, date_p50, date_p90, by_age, loss_kpa_per_month}}, first_chance {position},
//   checks [{step, positions, urgent}], low_kpa, low_assumed, pressure_known, placard_stated,
//   rotation {since_km, every_km, now_km, due_km,
//   never_km, now_over_due, due_over_never, now_over_never, refused (a code or null), assumed}, window [low, high].
// rules: as tirelife.advice.rules() gives them: the settings of a shop, the limits and the orders of the codes.
// action: { kind, severity (0 note to 3 urgent), positions, soon, reasons [{ code, severity, values }], scope, by,
//   window, as_of }; by is a day or null.
const Decide = (function () {
  const AXLES = [["LF", "RF"], ["LR", "RR"]];
  const NOTE = 0, DOUBT = 1, WARNING = 2, URGENT = 3;
  const NOW = "now", BEFORE = "before-next-look", PLAN = "plan";
  const note = (code, severity, values) => ({ code, severity: severity || NOTE, values: values || {} });
  const act = (kind, severity, soon, reasons, more) => Object.assign(
    { kind, severity, positions: [], soon, reasons, scope: null, by: null, window: null, as_of: null }, more);
  const where = (facts, test) => Object.keys(facts.tires).filter((p) => test(facts.tires[p]));
  const has = (action, code) => action.reasons.some((reason) => reason.code === code);
  const of = (decision, kind) => decision.actions.filter((action) => action.kind === kind);
  const finite = (values) => values.filter((v) => Number.isFinite(v));

  function decide(facts, rules) {
    const changed = replacement(facts, rules);
    const gone = changed.length > 0, angles = facts.checks.some((check) => check.step === rules.angles_step);
    const actions = [...measured(facts), ...air(facts, rules), ...checks(facts), ...(gone ? [] : unlike(facts, rules)), ...changed,
      rotation(facts, rules, gone, angles), ...pressure(facts, rules), look(facts, rules)];
    const rank = (a) => rules.kinds.indexOf(a.kind);
    const order = actions.map((a, i) => [a, i]);
    order.sort(([a, i], [b, j]) => b.severity - a.severity || rank(a) - rank(b) || i - j);
    const [first, chance] = firstDue(facts, rules), sorted = order.map(([a]) => a);
    return {
      as_of: facts.as_of, actions: sorted, first, first_chance: chance,
      severity: Math.max(...sorted.map((a) => a.severity)),
      may_rotate: sorted.filter((a) => a.kind === "leave-in-place").every((a) => has(a, "not-due") || has(a, "as-assumed")),
    };
  }
  function topOf(facts) {
    const known = Object.entries(facts.first_chance).filter(([, c]) => Number.isFinite(c));
    return known.reduce((top, one) => (top === null || one[1] > top[1] ? one : top), null);
  }
  function firstDue(facts, rules) {
    const known = Object.entries(facts.first_chance).filter(([, c]) => Number.isFinite(c)), top = topOf(facts);
    if (top === null) return [[], NaN];
    if (top[1] >= rules.sure || known.length === 1) return [[top[0]], top[1]];
    return [known.filter(([, c]) => c >= top[1] / 2).map(([p]) => p), NaN];
  }

  function measured(facts) {
    const out = [];
    for (const [places, code] of [[where(facts, (t) => t.at_limit), "at-limit"],
      [where(facts, (t) => !t.at_limit && t.km_p10 <= 0), "may-be-down"]]) {
      if (!places.length) continue;
      const why = places.map((p) => note(code, URGENT,
        { position: p, read_mm: facts.tires[p].read_mm, read_raw_mm: facts.tires[p].read_raw_mm, limit_mm: facts.limit_mm[p] }));
      out.push(act("inspect-now", URGENT, NOW, why, { positions: places, by: facts.as_of }));
    }
    const odd = where(facts, (t) => !t.fits);
    if (odd.length) out.push(act("read-again", DOUBT, NOW, odd.map((p) => note("does-not-fit", DOUBT, { position: p })),
      { positions: odd, by: facts.as_of }));
    return out;
  }
  function air(facts, rules) {
    const losing = where(facts, (t) => t.loss_kpa_per_month > 0);
    if (!losing.length) return [];
    const loss = (p) => facts.tires[p].loss_kpa_per_month;
    const severity = Math.max(...losing.map(loss)) >= rules.leak_kpa_per_month ? URGENT : WARNING;
    const why = losing.map((p) => note("loses-air", severity, { position: p, loss_kpa_per_month: loss(p) }));
    return [act("check-for-leak", severity, NOW, why, { positions: losing, by: facts.as_of })];
  }
  function checks(facts) {
    return facts.checks.map((check) => {
      const severity = check.urgent ? URGENT : DOUBT, why = note("pattern", severity, { step: check.step });
      return act(check.urgent ? "inspect-now" : "correct-first", severity, NOW, [why], { positions: check.positions });
    });
  }
  function unlike(facts, rules) {
    const known = Object.entries(facts.tires).map(([p, t]) => [p, Number.isFinite(t.depth_mm) ? t.depth_mm : t.read_mm])
      .filter(([, depth]) => Number.isFinite(depth)), deepest = Math.max(...known.map(([, depth]) => depth));
    const places = known.filter(([, depth]) => deepest - depth > rules.match_drive_mm + 1e-9).map(([p]) => p);
    if (facts.drive !== "all" || !places.length) return [];
    const apart = Math.max(...known.map(([, depth]) => deepest - depth));
    const why = note("drive-apart", DOUBT, { step: rules.match_step, apart_mm: apart });
    return [act("correct-first", DOUBT, NOW, [why], { positions: places })];
  }
  function pressure(facts, rules) {
    if (!facts.pressure_known && !facts.low_assumed) return [act("set-pressure", NOTE, NOW, [note("not-known")])];
    if (facts.low_kpa < rules.low_kpa) return [];
    const why = note("below-placard", NOTE, { low_kpa: facts.low_kpa, assumed: facts.low_assumed, placard_stated: facts.placard_stated });
    return [act("set-pressure", NOTE, NOW, [why])];
  }
  function look(facts, rules) {
    const pace = facts.km_per_day > 0 ? facts.km_per_day : NaN;
    const limits = [[rules.service_days, "usual-service"], [rules.service_km / pace, "usual-service"]];
    const soonest = Math.min(...finite(Object.values(facts.tires).map((t) => t.km_p10)));
    limits.push([rules.look_share * soonest / pace, "before-limit"]);
    if (where(facts, (t) => t.at_limit || t.near_limit).length)
      limits.push([rules.near_look_days, "before-limit"], [rules.near_look_km / pace, "before-limit"]);
    const [days, code] = limits.filter(([d]) => Number.isFinite(d)).reduce((a, b) => (b[0] < a[0] ? b : a));
    const whole = Math.max(Math.trunc(days), 0);
    return act("next-look", NOTE, BEFORE, [note(code, NOTE, { days: whole })], { by: facts.as_of + whole });
  }

  // Which tires to replace, how many together, and by when.
  const lookKm = (facts, rules) => facts.km_per_day > 0
    ? Math.min(rules.service_km, rules.service_days * facts.km_per_day) : rules.service_km;
  function aged(facts, rules, tire) {
    return tire.by_age && tire.date_p50 !== null && tire.date_p50 <= facts.as_of + rules.service_days;
  }
  function soonOf(facts, rules, p) {
    const tire = facts.tires[p], next = lookKm(facts, rules);
    if (tire.at_limit || tire.km_p50 <= 0) return NOW;
    if (tire.km_p50 <= next || (tire.near_limit && !(tire.km_p10 > next))) return BEFORE;
    if (tire.near_limit || tire.km_p10 <= next || aged(facts, rules, tire)) return PLAN;
    return null;
  }
  function why(facts, p, soon) {
    const tire = facts.tires[p], values = { position: p, read_mm: tire.read_mm, km_p50: tire.km_p50 };
    if (tire.at_limit) return note("at-limit", URGENT, values);
    if (tire.near_limit) return note("near-limit", WARNING, values);
    if (soon === PLAN) return note(tire.by_age ? "age" : "due-in-window", NOTE, values);
    return note("due", WARNING, values);
  }
  function apartOf(tire) {
    return tire.new_depth_mm - (Number.isFinite(tire.depth_mm) ? tire.depth_mm : tire.read_mm);
  }
  function windowOf(facts, positions) {
    const top = topOf(facts);
    if (facts.window !== null && top !== null && positions.includes(top[0])) return facts.window;
    const low = positions.map((p) => facts.tires[p].date_p10).filter((d) => d !== null);
    const high = positions.map((p) => facts.tires[p].date_p90).filter((d) => d !== null);
    return low.length && high.length ? [Math.min(...low), Math.min(...high)] : null;
  }
  function replacement(facts, rules) {
    const road = rules.road.filter((p) => p in facts.tires), due = {};
    for (const p of road) {
      const s = soonOf(facts, rules, p);
      if (s !== null) due[p] = s;
    }
    const places = Object.keys(due);
    if (!places.length) return [];
    const soon = rules.soon.find((s) => places.some((p) => due[p] === s));
    const reasons = places.map((p) => why(facts, p, due[p])), go = new Set(places);
    for (const axle of AXLES)
      for (const [p, mate] of [axle, [axle[1], axle[0]]])
        if (p in due && mate in facts.tires && !go.has(mate)) {
          const apart = apartOf(facts.tires[mate]);
          if (apart > rules.match_axle_mm + 1e-9) {
            go.add(mate);
            reasons.push(note("match-axle", NOTE, { position: mate, apart_mm: apart }));
          }
        }
    let rest = road.filter((p) => !go.has(p));
    if (facts.drive === "all" && rest.length) {
      const unlike = rest.map((p) => [p, apartOf(facts.tires[p])]).filter(([, apart]) => apart > rules.match_drive_mm + 1e-9);
      if (unlike.length) {
        const [p, apart] = unlike.reduce((a, b) => (b[1] > a[1] ? b : a));
        reasons.push(note("match-drive", NOTE, { position: p, apart_mm: apart }));
        rest.forEach((q) => go.add(q));
      }
    }
    rest = rest.filter((p) => !go.has(p));
    if (rest.length && rest.every((p) => facts.tires[p].km_p50 <= 2 * lookKm(facts, rules))) {
      reasons.push(note("all-due"));
      rest.forEach((p) => go.add(p));
    }
    const pair = go.size === 2 && AXLES.some((axle) => axle.every((p) => go.has(p)));
    const scope = go.size > 2 ? "set" : pair ? "pair" : "one";
    if (pair && facts.drive !== "all") reasons.push(note("deeper-to-rear"));
    const severity = soon === NOW ? URGENT : soon === BEFORE ? WARNING : NOTE;
    const window = windowOf(facts, places.filter((p) => due[p] === soon));
    const by = soon === NOW ? facts.as_of : window === null ? null : Math.max(window[0], facts.as_of);
    return [act("replace", severity, soon, reasons,
      { positions: road.filter((p) => go.has(p)), scope, by, window, as_of: facts.as_of })];
  }

  // Whether to rotate now, and why, or why not.
  const rotationDue = (turn, rules) => turn.assumed !== "" || !(turn.since_km < rules.early * turn.every_km);
  function usualWay(facts, rules) {
    const turn = facts.rotation;
    return rotationDue(turn, rules) ? [turn.now_km, turn.now_over_never] : [turn.due_km, turn.due_over_never];
  }
  function rotation(facts, rules, replaced, angles) {
    const turn = facts.rotation, due = rotationDue(turn, rules), [usual, over] = usualWay(facts, rules);
    const leave = (...reasons) => act("leave-in-place", NOTE, NOW, reasons);
    const rotate = (...reasons) => act("rotate", NOTE, NOW, reasons);
    const longer = (one, other) => one > other * (1 + rules.better);
    const gain = (code, rotated, stays) => note(code, NOTE, { rotate_km: rotated, stay_km: stays });
    if (!Object.keys(facts.tires).length) return leave(note("not-known"));
    const worn = where(facts, (t) => t.at_limit || t.near_limit);
    if (worn.length) return leave(...worn.map((p) => note("near-limit", NOTE, { position: p })));
    if (replaced) return leave(note("replace-first"));
    if (turn.refused !== null) return leave(note(turn.refused));
    if (turn.assumed !== "none" && longer(turn.never_km, usual) && 1 - over >= rules.sure_turn)
      return leave(gain("shortens", usual, turn.never_km));
    if (turn.assumed === "none") {
      const better = longer(turn.now_km, turn.never_km) && turn.now_over_never >= rules.sure_turn;
      return leave(gain("as-assumed", better ? turn.now_km : turn.never_km, turn.never_km));
    }
    const first = angles ? [note("correct-first")] : [];
    if (turn.assumed === "every") return rotate(...first, note("as-assumed", NOTE, { every_km: turn.every_km }));
    const run = { since_km: turn.since_km, every_km: turn.every_km };
    if (due) return rotate(...first, note("as-usual", NOTE, run));
    if (longer(turn.now_km, turn.due_km) && turn.now_over_due >= rules.sure_turn)
      return rotate(...first, gain("lengthens", turn.now_km, turn.due_km));
    return leave(note("not-due", NOTE, run));
  }
  return { decide, of, has, lookKm, usualWay };
})();
