// What would change each action of a decision: codes and figures, no words. Twin of tirelife/advice/changing.py.
//
// Changing.of(action, facts, rules) -> [{ code, severity, values }]; action, facts and rules as in decide.js
const Changing = (function () {
  const DUE = ["at-limit", "near-limit", "due", "due-in-window", "age"];
  const LEFT = { "near-limit": "new-tires", "replace-first": "new-tires", "as-assumed": "assumed-otherwise", "not-known": "depths-read" };
  const spread = (tire) => tire.km_p90 - tire.km_p10;
  const note = (code, values) => ({ code, severity: 0, values: values || {} });

  function replaced(action, facts, rules) {
    const look = Decide.lookKm(facts, rules), out = [];
    for (const p of action.reasons.filter((r) => DUE.includes(r.code)).map((r) => r.values.position)) {
      const tire = facts.tires[p];
      if (tire.at_limit || tire.near_limit)
        out.push(note("read-over", { position: p, over_mm: facts.limit_mm[p] + (tire.at_limit ? 0 : rules.near_mm) }));
      if (tire.km_p50 <= look) out.push(note("goes-further", { position: p, over_km: look, middle_km: tire.km_p50, spread_km: spread(tire) }));
      else if (tire.km_p10 <= look && action.soon === "plan")
        out.push(note("surely-further", { position: p, over_km: look, least_km: tire.km_p10, spread_km: spread(tire) }));
      if (tire.by_age && action.soon === "plan") out.push(note("age-allowed", { position: p }));
    }
    for (const { code, values } of action.reasons)
      if (code === "match-axle" || code === "match-drive")
        out.push(note("apart-allowed", { position: values.position, apart_mm: values.apart_mm }));
    return out;
  }
  function left(action, facts, rules) {
    const turn = facts.rotation, code = action.reasons[0].code;
    if (code === "shortens")
      return [note("leaving-no-longer", { chance: rules.sure_turn, chance_now: 1 - Decide.usualWay(facts, rules)[1] })];
    if (code === "not-due") return [note("run-on", { more_km: rules.early * turn.every_km - turn.since_km })];
    return [note(LEFT[code] || "other-tires")];
  }
  function looked(action, facts, rules) {
    if (Decide.has(action, "usual-service"))
      return [note("service-set", { service_km: rules.service_km, days: rules.service_days })];
    const over = Decide.lookKm(facts, rules) / rules.look_share, out = [];
    for (const [p, tire] of Object.entries(facts.tires)) {
      if (tire.at_limit || tire.near_limit)
        out.push(note("read-over", { position: p, over_mm: facts.limit_mm[p] + rules.near_mm }));
      if (tire.km_p10 < over)
        out.push(note("surely-further", { position: p, over_km: over, least_km: tire.km_p10, spread_km: spread(tire) }));
    }
    return out;
  }
  const makers = {
    "inspect-now": (a, facts) => Decide.has(a, "pattern") ? [note("found-sound")] :
      a.positions.map((p) => note("read-over", { position: p, over_mm: facts.limit_mm[p] })),
    "check-for-leak": (a, facts, rules) => a.positions.map((p) =>
      note("holds-air", { position: p, below_kpa: rules.inspect_kpa_per_month })),
    "read-again": (a) => a.positions.map((p) => note("reads-agree", { position: p })),
    "replace": replaced,
    "correct-first": (a) => Decide.has(a, "drive-apart")
      ? [note("drive-allowed", { apart_mm: a.reasons[0].values.apart_mm })] : [note("found-sound")],
    "set-pressure": (a, facts, rules) => [note("pressures-right", { within_kpa: rules.low_kpa })],
    "rotate": (a, facts, rules) => Decide.has(a, "lengthens")
      ? [note("rotating-no-longer", { chance: rules.sure_turn, chance_now: facts.rotation.now_over_due })]
      : [note("leaving-longer", { share: rules.better, chance: rules.sure_turn, chance_now: 1 - Decide.usualWay(facts, rules)[1] })],
    "leave-in-place": left,
    "next-look": looked,
  };
  return { of: (action, facts, rules) => makers[action.kind](action, facts, rules) };
})();
