// Visits kept in this browser: a visit is confirmed only once it is on the disk.
//
// Store.open() -> a promise of { all(), put(visit), remove(ids) }, each a promise; refused where nothing can be kept
// Store.table(visits, units, heads) -> rows of a sheet that `tirelife import` reads without a question
// Store.csv(rows) -> text
const Store = (function () {
  const NAME = "tirelife-counter", TABLE = "visits";
  const asked = (request) => new Promise((done, failed) => {
    request.onsuccess = () => done(request.result);
    request.onerror = () => failed(request.error);
  });

  function open() {
    return new Promise((done, failed) => {
      if (!window.indexedDB) { failed(new Error("none")); return; }
      const request = indexedDB.open(NAME, 1);
      request.onupgradeneeded = () => request.result.createObjectStore(TABLE, { keyPath: "id" });
      request.onerror = () => failed(request.error);
      request.onblocked = () => failed(new Error("blocked"));
      request.onsuccess = () => {
        const base = request.result;
        base.onversionchange = () => base.close();
        // Whole or not at all, and done only when the browser has written it out.
        const change = (work) => new Promise((ended, broke) => {
          const step = base.transaction(TABLE, "readwrite", { durability: "strict" });
          step.oncomplete = () => ended();
          step.onabort = () => broke(step.error);
          step.onerror = () => broke(step.error);
          work(step.objectStore(TABLE));
        });
        done({
          all: () => asked(base.transaction(TABLE).objectStore(TABLE).getAll()),
          put: (visit) => change((table) => table.put(visit)),
          remove: (ids) => change((table) => ids.forEach((id) => table.delete(id))),
        });
      };
    });
  }
  const trimmed = (value) => String(Math.round(value * 1e4) / 1e4);
  function table(visits, units, per, heads) {
    const wheels = ["LF", "RF", "LR", "RR"];
    const rows = visits.filter((v) => !v.withdrawn).map((v) => {
      const change = v.units === units ? (value) => trimmed(value)
        : (value, kind) => trimmed(value * per[v.units][kind] / per[units][kind]);
      const depth = (values) => (values || []).map((value) => change(value, "depth")).join("/");
      return [v.date, v.vehicle, change(v.odometer, "distance"), ...wheels.map((p) => depth(v.depths[p])),
        v.new_depth === null ? "" : change(v.new_depth, "depth"), v.line, v.drive, v.note, v.shop];
    });
    rows.sort((a, b) => (a[1] < b[1] ? -1 : a[1] > b[1] ? 1 : a[0] < b[0] ? -1 : 1));
    return [heads, ...rows];
  }
  const cell = (text) => (/[",\r\n]/.test(text) ? '"' + text.replace(/"/g, '""') + '"' : text);
  const csv = (rows) => rows.map((row) => row.map((one) => cell(String(one))).join(",") + "\r\n").join("");
  return { open, table, csv };
})();
