// Whether a visit's depths are likelier as typed or with a slip: twin of tirelife/logbook/slips (predict.py, depths.py,
// digits.py) for a visit and the one before it. A test compares the two in a browser.
//
// Slips.of(rule) -> { expect(now, before), judge(now, law), apply(slip, values, raw) }
// rule: as tirelife.outlook.asking.slip_rule gives it. now, before: { depth [4] (mean of the grooves, mm; null: not read),
//   grooves [4], km (odometer), run [4], fresh [4] (new depth or null) }; now also { step (of the gauge, mm), off (readings
//   that are no wholes or halves as typed), readings, alike (one value all over), unit ("mm" or "32nds") }.
// law: { expected [4] (null where not read), precision [4][4] }, from expect or from what is known of a car.
// judge -> { slip, values, odds } or null; odds are logarithms. slip: a code of tirelife.logbook.codes.Slip.
const Slips = (function () {
  const sum = (values) => values.reduce((s, v) => s + v, 0), read = (values) => values.map((v) => v !== null);
  const plus = (values) => { const top = Math.max(...values); return top === -Infinity ? top : top + Math.log(sum(values.map((v) => Math.exp(v - top)))); };
  // Inverse of a symmetric positive matrix, and the logarithm of its determinant.
  function inverse(matrix) {
    const n = matrix.length, a = matrix.map((row, i) => [...row, ...row.map((_, j) => (i === j ? 1 : 0))]);
    let size = 0;
    for (let i = 0; i < n; i++) {
      const pivot = a[i][i];
      size += Math.log(pivot);
      for (let j = 0; j < 2 * n; j++) a[i][j] /= pivot;
      for (let k = 0; k < n; k++)
        if (k !== i) {
          const by = a[k][i];
          for (let j = 0; j < 2 * n; j++) a[k][j] -= by * a[i][j];
        }
    }
    return [a.map((row) => row.slice(n)), size];
  }
  const times = (matrix, values) => matrix.map((row) => sum(row.map((v, j) => v * values[j])));

  function of(rule) {
    const law = rule.law;
    // What the later visit should read, by the one before it: predict.leave_out.
    function expect(now, before) {
      const visits = before ? [before, now] : [now], cells = visits.flatMap((v, i) => [0, 1, 2, 3].map((w) => ({
        visit: i, wheel: w, depth: v.depth[w], run: v.run[w], far: (v.km - visits[0].km) * law.wear, grooves: Math.max(v.grooves[w], 1), fresh: v.fresh[w] })));
      const walk = law.wear * rule.wander_km, start = (c) => (c.fresh !== null ? rule.new_sd : law.spread) ** 2;
      const cov = cells.map((a, i) => cells.map((b, j) => {
        const both = a.depth !== null && b.depth !== null, x = a.run * law.wear, y = b.run * law.wear;
        let out = a.wheel === b.wheel ? 0.6 * start(a) + rule.tire ** 2 * (x * y + walk * Math.min(x, y)) : 0;
        out += 0.4 * Math.min(start(a), start(b)) + rule.vehicle ** 2 * (x * y + walk * Math.max(Math.min(a.far, b.far), 0));
        out = (out + (a.visit === b.visit ? rule.visit ** 2 : 0)) * (both ? 1 : 0);
        const own = rule.reading ** 2 / a.grooves + now.step ** 2 / 12 * (0.5 + 0.5 / a.grooves);
        return i === j ? out + (a.depth !== null ? own : 1) : out;
      }));
      const [weight] = inverse(cov), gap = cells.map((c) => (c.depth === null ? 0
        : c.depth - Math.max((c.fresh !== null ? c.fresh : law.start) - law.wear * c.run, 0.5)));
      const at = cells.length - 4, block = weight.slice(at).map((row) => row.slice(at));
      const error = times(inverse(block)[0], times(weight, gap).slice(at));
      return { expected: now.depth.map((d, w) => (d === null ? null : d - error[w])), precision: block.map((row) => row.map((v) => v / law.scale ** 2)) };
    }
    function digits(now, share) {
      const said = Object.values(rule.off).map((p) => now.off * Math.log(p) + (now.readings - now.off) * Math.log1p(-p));
      return plus([Math.log(share) + said[0], Math.log(1 - share) + said[1]]);
    }
    // depths.judge_visits, one visit.
    function judge(now, found) {
      const seen = read(now.depth), number = sum(seen.map(Number)), { expected, precision } = found, [, size_] = inverse(precision), odds = [];
      if (!number) return null;
      const normal = (values) => {
        const gap = values.map((v, w) => (seen[w] ? v - expected[w] : 0));
        return -0.5 * sum(times(precision, gap).map((v, w) => v * gap[w]));
      };
      const depth = now.depth.map((d) => (d === null ? 0 : d)), scaled = (by) => depth.map((d) => d * by), plain = normal(depth);
      const typed = plus([plain + Math.log1p(-rule.tail), plain / 9 - number * Math.log(3) + Math.log(rule.tail)]);
      const add = (slip, value, values) => odds.push({ slip, values, odds: value - typed });
      for (const [other, mm] of Object.entries(rule.units))
        if (other !== now.unit) {
          const by = mm / rule.units[now.unit];
          add("other-unit", normal(scaled(by)) + rule.unit + number * Math.log(by) + digits(now, rule.halves[other]) - digits(now, rule.usual), { unit: other, factor: by });
        }
      for (const by of [10, 0.1]) add("tenfold", normal(scaled(by)) + number * Math.log(by) + rule.rare, { factor: by });
      const cell = Math.log(Math.max(now.step, 0.05)) * number, whole = 0.5 * size_ - 0.5 * number * Math.log(2 * Math.PI);
      if (depth.every((d) => d === 0)) add("all-zero", rule.rare - cell - whole, {});
      if (now.alike && now.readings >= rule.alike && number > 1) add("all-alike", rule.rare - rule.values - cell - whole, {});
      for (const [swap, places] of Object.entries(rule.swaps)) {
        const to = places.map((w) => depth[w]), same = places.every((w, i) => seen[w] === seen[i]), most = ["sides", "axles", "both"].includes(swap);
        if (now.moved || !same || (most && number < 4) || to.every((d, i) => d === depth[i])) continue;
        add("swapped", normal(to) + rule.rare - (swap === "sides" || swap === "axles" ? 0 : Math.log(4)), { swap, places });
      }
      for (const [words, wheels] of Object.entries(rule.mounted)) {
        const fresh = wheels.filter((w) => seen[w]), sd = 0.6 * law.scale;
        const gain = sum(fresh.map((w) => depth[w] - expected[w])) / Math.max(fresh.length, 1);
        if (!(gain > 1.5) || fresh.length < 2) continue;
        const rest = normal(depth.map((d, w) => (wheels.includes(w) ? expected[w] : d)));
        const beside = sum(fresh.map((w) => -0.5 * ((depth[w] - ((now.fresh[w] === null ? law.start : now.fresh[w]) - 0.3)) / sd) ** 2 - Math.log(sd)));
        add("new-tires", rest + beside - sum(fresh.map((w) => Math.log(precision[w][w]))) / 2 + rule.new_tires, { places: words, wheels });
      }
      const top = plus(odds.map((one) => one.odds)), best = odds.reduce((a, b) => (b.odds > a.odds ? b : a));
      const unfit = plain / 25 - number * Math.log(5) + rule.rare - typed;
      if (top > rule.asked) return { slip: best.slip, values: best.values, odds: top };
      return unfit > rule.asked_unfit ? { slip: "unfit", values: {}, odds: unfit - rule.asked_unfit + rule.asked } : null;
    }
    return { expect, judge };
  }
  // Smallest usual step that nine in ten of the values stand on: visits._step.
  const stepOf = (values, steps) => steps.find((step) => values.filter((v) => Math.abs(v / step - Math.round(v / step)) > 1e-3).length <= 0.1 * values.length) || 0;
  const offHalves = (values) => values.filter((v) => Math.abs(2 * v - Math.round(2 * v)) > 2e-3).length;
  return { of, stepOf, offHalves };
})();
