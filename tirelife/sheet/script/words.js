// Decisions, dates and distances in words: the same words as tirelife/sheet/words.py and
// tirelife/sheet/language/decisions.py, from the same table of texts.
//
// Words.of({ texts, would, units, per, labels, as_of }) -> {
//   action(action), change(action with its change, of Changing), lead(decision, overall), places(positions), first(decision)
//   dateRange(low, high), window(low, high), distanceRange(low, high), difference(km, days)
//   depth(mm), pressure(kpa), far(km, width of its range if it has one), number(value, digits), habit(number as written here), joined(list), notes(rows) }
// texts: the table of a language (tirelife.sheet.language.texts), by code, with names in braces to be filled in;
// would: sentences of what would change an action, by code (only change needs them);
// units: "us" or "metric"; per: one unit shown in inside units, { km, mm, kpa }; labels: { km, kpa } as they are
// written; as_of: today. A day is a number (days since 1970-01-01), not known: null. Distances in km, depths in mm.
const Words = (function () {
  const STEPS = [10, 50, 100, 500, 1000, 5000, 10000];
  const SPANS = [[365.25, 1.5 * 365.25, "year"], [30.4375, 1.6 * 30.4375, "month"], [7, 3.5, "week"]];
  const SHOWN_MM = 0.02;
  const FRONT = ["LF", "RF"], REAR = ["LR", "RR"];
  const fill = (text, values) => text.replace(/{(\w+)}/g, (_, name) => String(values[name]));
  const halfUp = (value, step) => Math.floor(value / step + 0.5) * step;
  const forms = {};  // a number's form is costly to make
  const written = (value, digits) => {
    const scale = 10 ** digits, rounded = halfUp(value * scale, 1) / scale + 0;
    if (!forms[digits]) forms[digits] = new Intl.NumberFormat("en-US", { minimumFractionDigits: digits, maximumFractionDigits: digits });
    return forms[digits].format(rounded);
  };
  const same = (one, other) => one.length === other.length && other.every((p) => one.includes(p));

  function of(how) {
    const say = how.texts, km = 1 / how.per.km, mm = 1 / how.per.mm, kpa = 1 / how.per.kpa;
    const joined = (list) => list.length < 2 ? list.join("") :
      list.slice(0, -1).join(", ") + " " + say.and + " " + list[list.length - 1];
    // The point and the sign of thousands of the language; a space is left out of numbers of four digits.
    function habit(text) {
      const point = say["point-" + how.units], space = say["group-" + how.units] === "\u00a0";
      const group = space && text.split(".")[0].replace(/[-−,]/g, "").length <= 4 ? "" : say["group-" + how.units];
      return text.replace(/[,.]/g, (sign) => (sign === "," ? group : point));
    }
    const number = (value, digits) => habit(written(value, digits));
    function depth(value, tenths) {
      if (!Number.isFinite(value)) return say.unknown;
      const said = written(value * mm, 1);
      return habit(how.units === "us" && !tenths ? said.replace(/\.0$/, "") : said) + say["deep-" + how.units];
    }
    function pressure(value) {
      const shown = value * kpa, digits = how.units === "us" && shown < 10 ? 1 : 0;
      return habit(written(shown, digits).replace(/\.0$/, "")) + " " + how.labels.kpa;
    }
    const stepOf = (spread) => STEPS.filter((s) => s <= spread / 5).pop() || STEPS[0];
    function far(value, spread) {
      const shown = value * km, usual = how.units === "us" ? 500 : 1000;
      const step = Number.isFinite(spread) ? stepOf(spread * km) : shown >= usual ? usual : 100;
      return number(halfUp(shown, step), 0) + " " + how.labels.km;
    }
    function distanceRange(low, high) {
      if (!Number.isFinite(low) || !Number.isFinite(high) || low === null || high === null) return say.unknown;
      const step = stepOf(high * km - low * km), ends = [low, high].map((v) => number(halfUp(v * km, step), 0));
      return ends[0] === ends[1] ? ends[1] : fill(say.range, { low: ends[0], high: ends[1] });
    }
    function spanOfTime(days) {
      const n = Math.abs(days);
      for (const [length, least, unit] of SPANS)
        if (n >= 4 && n >= least) {
          const count = Math.max(Math.floor(n / length + 0.5), 1);
          return fill(say["about-" + unit + (count > 1 ? "-many" : "-one")], { n: count });
        }
      return say["days-few"];
    }
    function difference(gain, days) {
      if (!Number.isFinite(gain)) return say.unknown;
      const value = Math.abs(gain) * km, rounded = halfUp(value, stepOf(Math.max(value, 500)));
      if (rounded < 50) return say.little;
      const code = (gain > 0 ? "gain" : "loss") + (Number.isFinite(days) ? "-time" : "");
      return fill(say[code], { far: number(rounded, 0) + " " + how.labels.km, time: spanOfTime(days) });
    }
    function named(n, grain, withYear) {
      const d = new Date(n * 86400000), month = d.getUTCMonth() + 1;
      const part = grain === "part" ? d.getUTCDate() : 2.5 * month;
      const third = say[part <= 10 ? "early" : part <= 20 ? "mid" : "late"];
      return fill(say["date-" + grain + (withYear && grain !== "third" ? "-year" : "")],
        { part: third, month: say["month-" + month], year: d.getUTCFullYear() });
    }
    const grainOf = (low, high) => high - low < 245 ? "part" : high - low < 730 ? "month" : "third";
    const year = (n) => new Date(n * 86400000).getUTCFullYear();
    function ends(low, high) {
      if (low === null || high === null) return [say.unknown];
      const grain = grainOf(low, high), second = named(high, grain, true);
      return named(low, grain, true) === second ? [second] : [named(low, grain, year(low) !== year(high)), second];
    }
    function dateRange(low, high) {
      const said = ends(low, high);
      return said.length === 1 ? said[0] : fill(say.range, { low: said[0], high: said[1] });
    }
    function window(low, high) {
      const said = ends(low, high);
      if (low !== null && high !== null && low - how.as_of <= 14)
        return fill(say["between-now"], { high: named(high, grainOf(low, high), true) });
      return said.length === 1 ? fill(say.around, { low: said[0] }) : fill(say.between, { low: said[0], high: said[1] });
    }
    function places(positions) {
      if (same(positions, FRONT)) return say["front-pair"];
      if (same(positions, REAR)) return say["rear-pair"];
      if (same(positions, FRONT.concat(REAR))) return say["all-four"];
      return joined(positions.map((p) => say[p]));
    }
    function span(days) {
      for (const [length, name] of [[30.4375, "months"], [7, "weeks"]]) {
        const count = Math.floor(days / length + 0.25);
        if (count >= 2) return fill(say[name + "-many"], { n: count });
        if (count === 1 && name === "months") return say["months-one"];
      }
      return days >= 4 ? say["weeks-one"] : say["days-few"];
    }

    function replaceWhen(a) {
      const what = a.scope === "set" ? say["tires-all"] : same(a.positions, FRONT) ? say["tires-front"] :
        same(a.positions, REAR) ? say["tires-rear"] : fill(say["tires-some"], { where: places(a.positions) });
      if (a.soon === "now") return fill(say["replace-now"], { what });
      if (a.soon === "before-next-look") return fill(say["replace-soon"], { what });
      if (a.window === null) return fill(say["replace-plan"], { what });
      return fill(say["replace-window"], { what, when: window(...a.window) });
    }
    const asRead = (raw, corrected) => Math.abs(raw - corrected) > SHOWN_MM
      ? fill(say["as-read"], { raw: depth(raw), corrected: depth(corrected) }) : depth(corrected);
    const makers = {
      "inspect-now": (a) => {
        const where = places(a.positions), read = a.reasons.filter((r) => r.code === "at-limit");
        if (!read.length) return fill(say[Decide.has(a, "may-be-down") ? "inspect-may" : "inspect"], { where });
        return fill(say["inspect-limit"], {
          where, limit: depth(a.reasons[0].values.limit_mm),
          read: joined(read.map((r) => fill(say["inspect-read"],
            { where: say[r.values.position], read: asRead(r.values.read_raw_mm, r.values.read_mm) }))),
        });
      },
      "check-for-leak": (a) => fill(say.leak, { where: places(a.positions),
        loss: pressure(Math.max(...a.reasons.map((r) => r.values.loss_kpa_per_month))) }),
      "read-again": (a) => fill(say["read-again"], { where: places(a.positions) }),
      "replace": (a) => {
        let out = replaceWhen(a);
        for (const r of a.reasons) {
          const text = say["replace-" + r.code];
          if (r.code === "match-axle" || r.code === "match-drive")
            out += " " + fill(text, { where: say[r.values.position], apart: depth(r.values.apart_mm) });
          else if (["all-due", "deeper-to-rear", "age"].includes(r.code) && !out.includes(text)) out += " " + text;
        }
        return out;
      },
      "correct-first": (a) => fill(say["step-" + a.reasons[0].values.step.replaceAll(" ", "-")],
        { where: places(a.positions), apart: depth(a.reasons[0].values.apart_mm) }),
      "set-pressure": (a) => Decide.has(a, "not-known") ? say["pressure-unknown"] : fill(
        say[a.reasons[0].values.assumed ? "pressure-assumed" : a.reasons[0].values.placard_stated ? "pressure" : "pressure-unstated"],
        { low: pressure(a.reasons[0].values.low_kpa) }),
      "rotate": (a) => {
        const last = a.reasons[a.reasons.length - 1], v = last.values;
        let out;
        if (last.code === "lengthens") out = fill(say["rotate-lengthens"], { far: far(v.rotate_km - v.stay_km) });
        else if (last.code === "as-assumed") out = fill(say["rotate-as-assumed"], { far: far(v.every_km) });
        else out = Number.isFinite(v.since_km) ? fill(say["rotate-as-usual"], { far: far(v.since_km) }) : say.rotate;
        return Decide.has(a, "correct-first") ? say["rotate-after"] + out[0].toLowerCase() + out.slice(1) : out;
      },
      "leave-in-place": (a) => {
        const r = a.reasons[0], v = r.values;
        if (r.code === "near-limit")
          return fill(say["leave-near-limit"], { where: places(a.reasons.map((one) => one.values.position)) });
        if (r.code === "shortens") return fill(say["leave-shortens"], { stay: far(v.stay_km), rotate: far(v.rotate_km) });
        if (r.code === "as-assumed") {
          const gain = v.rotate_km - v.stay_km;
          return fill(say["leave-as-assumed" + (gain > 0 ? "" : "-same")], { far: far(gain) });
        }
        if (r.code === "not-due") return fill(say["leave-not-due"], { since: far(v.since_km), every: far(v.every_km) });
        return say["leave-" + r.code];
      },
      "next-look": (a) => fill(say["look-" + a.reasons[0].code], { span: span(a.reasons[0].values.days) }),
    };
    const action = (a) => makers[a.kind](a);
    const share = (value) => (Number.isFinite(value) ? written(100 * value, 0) + "%" : say.unknown);
    // One figure of what would change an action, by the name of its code's argument: [name in the sentence, words].
    function argument([name, value], spread) {
      if (["middle_km", "least_km"].includes(name)) return [name.slice(0, -3), far(value, spread)];
      for (const [end, words] of [["_mm", depth], ["_km", far], ["_kpa", pressure]])
        if (name.endsWith(end)) return [name.slice(0, -end.length), words(value)];
      if (/^(chance|share)/.test(name)) return [name, share(value)];
      return [name, name === "position" ? say[value] : String(value)];
    }
    function change(a) {
      const said = a.change.map((n) => {
        const pieces = Object.fromEntries(Object.entries(n.values).map((one) => argument(one, n.values.spread_km)));
        for (const name of ["middle", "least"]) if (name in pieces && pieces[name] === pieces.over) pieces[name] = say["hardly-less"];
        return fill(how.would[n.code], pieces);
      });
      return said.length ? fill(say["would-change"], { what: [...new Set(said)].join("; ") }) : "";
    }
    const first = (decision) => decision.first.length
      ? fill(say[decision.first.length === 1 ? "first-one" : "first-tie"], { where: places(decision.first) }) : "";
    const due = (r) => r.code === "at-limit" || (["near-limit", "due"].includes(r.code) && r.values.km_p50 <= 0);
    function lead(decision, overall) {
      const now = Decide.of(decision, "replace").filter((a) => a.soon === "now");
      if (now.length) return fill(say["lead-due"],
        { where: places(now[0].reasons.filter(due).map((r) => r.values.position)) });
      const low = overall.dates[0], high = overall.dates[4];
      if (low === null || high === null) return say["lead-unknown"];
      const out = fill(say.lead, { when: window(low, high), unit: how.labels.km,
        far: distanceRange(overall.km[0], overall.km[4]) });
      return (out + " " + first(decision)).trim();
    }
    // Sentences of tires, rows of [label, [sentence]], each said once for all tires that it goes for.
    function notes(rows) {
      const by = new Map();
      for (const [label, said] of rows) for (const one of said) by.set(one, (by.get(one) || []).concat(label));
      const groups = new Map();
      for (const [one, labels] of by) {
        const key = labels.join("\n"), held = groups.get(key) || [labels, []];
        held[1].push(one);
        groups.set(key, held);
      }
      return [...groups.values()].map(([labels, parts]) =>
        (labels.length === rows.length && rows.length > 1 ? say["all-tires"] : joined(labels)) + ": " + parts.join("; ") + ".");
    }
    return { action, change, first, lead, places, joined, dateRange, window, distanceRange, difference, depth, pressure, far, number, habit,
      notes, fill: (code, values) => fill(say[code], values) };
  }
  return { of, written, halfUp };
})();
