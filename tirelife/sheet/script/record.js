// The whole record of a vehicle under other assumptions: twin of tirelife/sheet/redo.py.
//
// Record.of(state) -> { start, redo(answers) }
// redo(answers) -> { now (every control), result (of Draws), facts, decision, lead, urgent, steps, urgentChange, stepsChange,
//   notes, changes, helps, little }
//   decision: its actions with what would change each (change); urgent, steps, notes: sentences; urgentChange, stepsChange:
//   of each, what would change it, or nothing; changes: rows as the chart of changes takes them, in inside units; helps: those of
//   them that are worth a word; little: a sentence that names the others
const Record = (function () {
  const Z80 = 1.2816;
  const number = (v) => (v === null || v === undefined ? NaN : v);

  function of(state) {
    const record = state.record, rules = record.rules, draws = Draws.of(state), start = draws.start;
    const say = Words.of({
      texts: record.texts, would: record.would, units: state.units, as_of: Draws.day(state.as_of),
      per: { km: state.km_per_unit, mm: state.mm_per_unit, kpa: state.kpa_per_unit },
      labels: { km: state.distance_word, kpa: state.pressure_word },
    });
    const places = Object.keys(record.tires);

    function factsAt(now, result) {
      const tires = {}, limit = {}, days = (iso) => (iso === null ? null : Draws.day(iso));
      for (const [p, own] of Object.entries(record.tires)) {
        const at = own.at[now.removal], found = result.tires[p], end = days(own.age_end), [low, , middle, , high] = found.dates;
        limit[p] = state.removals[now.removal];
        tires[p] = {
          read_mm: number(own.read_mm), read_raw_mm: number(own.read_raw_mm), at_limit: at.verdict === "at-or-under", near_limit: at.verdict === "near",
          fits: own.fits, depth_mm: number(at.depth_mm), new_depth_mm: number(own.new_depth_mm),
          km_p10: number(found.km[0]), km_p50: number(found.km[2]), km_p90: number(found.km[4]),
          date_p10: low, date_p50: middle, date_p90: high,
          by_age: (middle !== null && end !== null && end <= middle) || (own.age_coded && middle === null),
          loss_kpa_per_month: own.loss_kpa_per_month,
        };
      }
      const moved = now.pressure !== start.pressure, low = result.overall.dates[0], high = result.overall.dates[4];
      return {
        vehicle_id: record.vehicle_id, drive: record.drive, as_of: Draws.day(state.as_of),
        km_per_day: state.pace.km_per_day * now.year / start.year, limit_mm: limit, tires,
        first_chance: firstChance(result), checks: record.checks,
        low_kpa: moved ? Math.max(-now.pressure, 0) * state.kpa_per_unit : record.low_kpa, low_assumed: moved,
        pressure_known: record.pressure_known, placard_stated: record.placard_stated,
        rotation: rotationAt(now), window: low !== null && high !== null ? [low, high] : null,
      };
    }
    function firstChance(result) {
      const known = Object.keys(result.drawn).filter((p) => result.drawn[p] !== null), out = {};
      if (!known.length) return out;
      const least = result.least, ties = new Float64Array(least.length);
      for (const p of known) for (let i = 0; i < ties.length; i++) if (result.drawn[p][i] === least[i]) ties[i]++;
      for (const p of known) {
        let sum = 0;
        for (let i = 0; i < ties.length; i++) if (result.drawn[p][i] === least[i]) sum += 1 / ties[i];
        if (sum > 0) out[p] = sum / least.length;
      }
      return out;
    }
    function rotationAt(now) {
      const held = record.rotation, assumed = now.rotation === "log" ? "" : now.rotation === "none" ? "none" : "every";
      const every = assumed === "every" ? state.rotations[now.rotation][1][0] : held.every_km, since = number(held.since_km);
      const wait = Number.isFinite(since) && assumed === "" ? Math.max(every - since, 0) : 0;
      const ways = { now: draws.turned(now, 0, every), due: draws.turned(now, wait, every), never: draws.turned(now, null, null) };
      const middle = (way) => (ways[way] === null ? NaN : Draws.median(ways[way]));
      const over = (one, other) => Draws.chanceLonger(ways[one], ways[other]);
      return {
        since_km: since, every_km: every, refused: held.refused, assumed,
        now_km: middle("now"), due_km: middle("due"), never_km: middle("never"),
        now_over_due: over("now", "due"), due_over_never: over("due", "never"), now_over_never: over("now", "never"),
      };
    }

    // What each change would buy, as tirelife/sheet/changes.py.
    const sum = (values) => values.reduce((total, v) => total + v, 0);
    function partsBefore(change, p, now) {
      const out = draws.parts(p, now);
      if (change.rest) out[out.length - 1] += change.rest[p];
      return out;
    }
    function wearAfter(change, now, side) {
      return Object.fromEntries(rules.road.map((p) => {
        if (change.kind === "correction") return [p, change.wear[p][side]];
        const before = partsBefore(change, p, now), after = before.map((v, i) => v * change.parts[p][i]);
        return [p, sum(after) / sum(before) * Math.exp([0, Z80, -Z80][side] * draws.gapLogSd(before, after))];
      }));
    }
    function offered(change, now) {
      if (change.kind !== "pressure") return true;
      const low = rules.road.map((p) => partsBefore(change, p, now)).map((of) => sum(of) / sum(of.slice(0, -1)));
      return sum(low) / low.length > record.low_wear;
    }
    // What differs by less than a metre keeps the order of offer: two ways round may give the same to the last digit but one.
    const metres = (row) => Math.floor(row.after_km * 1000 + 0.5);
    function changesAt(now, mayRotate) {
      const before = draws.least(now), rows = [];
      if (before.km === null) return rows;
      const begin = Draws.quantiles(before.km, [0.5])[0];
      const gained = (after, what) => Draws.median(after[what].map((v, i) => v - before[what][i]));
      const row = (name, cases) => {
        const one = gained(cases[0], "km"), days = gained(cases[0], "days");
        const gains = cases.map((c) => c === cases[0] ? one : gained(c, "km"));
        let said = say.difference(gains[0], days);
        if (gains[0] >= record.least_km && Math.min(...gains) < record.least_km) said = say.fill("gain-unsure", { gain: say.difference(gains[0], NaN) });
        return { change: name, before_km: begin, after_km: begin + gains[0], after_low_km: begin + gains[1],
          after_high_km: begin + gains[2], days, said };
      };
      for (const change of record.changes) {
        if (!offered(change, now)) continue;
        const cases = [0, 1, 2].map((side) => draws.least(now, wearAfter(change, now, side), side === 0));
        if (change.kind === "correction" && Draws.quantiles(cases[2].km, [0.5])[0] <= record.low_wear * begin) continue;
        rows.push(row(change.name, cases));
      }
      if (mayRotate) {
        const turned = record.turns.filter(([, name]) => name !== now.rotation).map(([said, name]) => {
          const after = draws.least(Object.assign({}, now, { rotation: name }));
          return row(said, [after, after, after]);
        });
        turned.sort((a, b) => metres(b) - metres(a));
        rows.push(...turned.slice(0, 1));
      }
      const order = rows.map((r, i) => [r, i]);
      order.sort(([a, i], [b, j]) => metres(b) - metres(a) || i - j);
      return order.map(([r]) => r).slice(0, record.shown_rows);
    }
    function notesAt(now, facts, result) {
      return say.notes(places.map((p) => {
        const own = record.tires[p], tire = facts.tires[p], said = [...own.at[now.removal].notes];
        if (tire.by_age && own.age_note) said.push(own.age_note);
        if (result.tires[p].km[2] !== null && tire.date_p90 === null) said.push(record.far_note);
        return [state.labels[p], said];
      }));
    }

    function redo(answers) {
      const now = Object.assign({}, start, answers), result = draws.recompute(now), facts = factsAt(now, result);
      const decision = Decide.decide(facts, rules), changes = changesAt(now, decision.may_rotate);
      decision.actions = decision.actions.map((a) => Object.assign(a, { change: Changing.of(a, facts, rules) }));
      const said = (urgent, words) => decision.actions.filter((a) => (a.severity === 3) === urgent).map(words);
      const helps = changes.filter((c) => c.after_km - c.before_km >= record.least_km);
      const little = changes.filter((c) => !helps.includes(c)).map((c) => c.change[0].toLowerCase() + c.change.slice(1));
      const urgent = said(true, say.action), lead = (urgent.length ? record.texts.above : "") + say.lead(decision, result.overall);
      return { now, result, facts, decision, lead, urgent, steps: said(false, say.action),
        urgentChange: said(true, say.change), stepsChange: said(false, say.change),
        notes: notesAt(now, facts, result), changes, helps,
        little: little.length ? say.fill("little-from", { what: say.joined(little) }) : "" };
    }
    return { start, redo, say, shared: draws.shared };
  }
  return { of };
})();
