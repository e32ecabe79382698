"use strict";
// What bodies and look-ups call: of a number, or of a list of numbers element by element, as the library's functions do.
const $ = (() => {
  class Refused extends Error {}
  const each = (f) => (...given) => {
    const long = given.find(Array.isArray);
    return long === undefined ? f(...given) : long.map((_, i) => each(f)(...given.map((one) => (Array.isArray(one) ? one[i] : one))));
  };
  const listed = (x) => (Array.isArray(x) ? x : typeof x === "object" && x !== null ? Object.keys(x) : typeof x === "string" ? [...x] : [x]);
  const spread = (given) => (given.length === 1 ? listed(given[0]) : given);
  const truth = (x) => (Array.isArray(x) ? x.length > 0 : Boolean(x));
  const sum = (x) => listed(x).reduce((a, b) => a + b, 0);
  const positive = (f) => each((x) => {
    if (x <= 0) throw new Refused("a logarithm wants a positive number");
    return f(x);
  });

  // Abramowitz and Stegun, Handbook of Mathematical Functions: the series 7.1.6 of terms of one sign, and beyond 2 the
  // continued fraction 7.1.14, worked out from its far end.
  const erfNear = (x) => {
    let term = x, whole = x;
    for (let n = 1; Math.abs(term) > 1e-18 * Math.abs(whole); n++) whole += term *= (2 * x * x) / (2 * n + 1);
    return (2 / Math.sqrt(Math.PI)) * Math.exp(-x * x) * whole;
  };
  const erfcFar = (x) => {
    let tail = x;
    for (let n = 120; n > 0; n--) tail = x + n / 2 / tail;
    return Math.exp(-x * x) / Math.sqrt(Math.PI) / tail;
  };
  const erfcOf = (x) => (x > 2 ? erfcFar(x) : x < -2 ? 2 - erfcFar(-x) : 1 - erfNear(x));
  const erfOf = (x) => (Math.abs(x) <= 2 ? erfNear(x) : x > 0 ? 1 - erfcFar(x) : erfcFar(-x) - 1);

  const inverse = (off, y) => {
    if (!(Math.abs(y) < 1)) throw new Refused("the share lies outside what the error function reaches");
    const log = Math.log1p(-y * y), a = 0.147, b = 2 / (Math.PI * a) + log / 2;
    let x = Math.sign(y) * Math.sqrt(Math.sqrt(b * b - log / a) - b);  // a first estimate; the steps below settle it
    for (let n = 0; n < 6; n++) {
      const step = (off(x) * Math.sqrt(Math.PI) * Math.exp(x * x)) / 2;
      x -= step / (1 + x * step);
    }
    return x;
  };

  const above = (value, limit) => value > limit + 1e-9 * Math.abs(limit);
  const below = (value, limit) => value < limit - 1e-9 * Math.abs(limit);
  const even = (x) => {  // half to even, as Python rounds
    const low = Math.floor(x);
    return x - low < 0.5 ? low : x - low > 0.5 ? low + 1 : low % 2 ? low + 1 : low;
  };
  const general = (x, digits) => {  // %g
    if (!Number.isFinite(x)) return Number.isNaN(x) ? "nan" : x > 0 ? "inf" : "-inf";
    if (x === 0) return "0";
    const [mantissa, power] = x.toExponential(digits - 1).split("e");
    const trim = (text) => (text.includes(".") ? text.replace(/\.?0+$/, "") : text);
    if (power < -4 || power >= digits) return `${trim(mantissa)}e${power < 0 ? "-" : "+"}${String(Math.abs(power)).padStart(2, "0")}`;
    return trim(x.toFixed(Math.max(0, digits - 1 - power)));
  };
  const python = (x) => (x === null ? "None" : x === true ? "True" : x === false ? "False" : String(x));
  const format = (x, form) => {
    if (!form) return python(x);
    const [, decimals, letter] = /^(?:\.(\d+))?([fg])$/.exec(form);
    return letter === "f" ? Number(x).toFixed(Number(decimals ?? 6)) : general(Number(x), Number(decimals ?? 6));
  };
  const at = (from, key) => {
    if (Array.isArray(key) && typeof key[0] === "boolean") return listed(from).filter((_, i) => key[i]);
    if (typeof key === "boolean") return key ? listed(from) : [];
    const found = from[Array.isArray(from) && key < 0 ? from.length + key : key];
    if (found === undefined) throw new Refused(`there is no ${python(key)}`);
    return found;
  };
  const interpolate = (x, xs, ys, what) => {
    const last = xs.length - 1, slack = 1e-9 * Math.max(Math.abs(xs[0]), Math.abs(xs[last]));
    if (!(xs[0] - slack <= x && x <= xs[last] + slack))
      throw new Refused(`${what} ${general(x, 6)} lies outside the table, which runs from ${general(xs[0], 6)} to ${general(xs[last], 6)}`);
    for (let i = 0; i < last; i++)
      if (x <= xs[i + 1] || i === last - 1) return ys[i] + ((ys[i + 1] - ys[i]) * (x - xs[i])) / (xs[i + 1] - xs[i]);
    return ys[0];
  };
  const interp = each0((x, xs, ys) => interpolate(Math.min(Math.max(x, xs[0]), xs[xs.length - 1]), xs, ys, ""));
  function each0(f) { return (x, ...rest) => (Array.isArray(x) ? x.map((one) => f(one, ...rest)) : f(x, ...rest)); }

  const row = (table, column, value) => {
    const found = table.rows.find((one) => one[column] === value);
    if (found) return found;
    const known = [...new Set(table.rows.map((one) => one[column]))].join(", ");
    throw new Refused(`${table.title} has no ${column} “${value}”; it has ${known}`);
  };

  return {
    Refused, constants: {}, factors: {}, constant: (text) => at($.constants, text), quantity: (x, unit) => x * at($.factors, unit),
    answer: (answers, given) => {
      const found = answers[given.join(",")];
      if (typeof found === "number") return found;
      throw new Refused(found ?? `${given.join(", ")}: not in the table`);
    },
    truth, listed, sum, format, general, at, interpolate, interp, row, python, tables: {},
    table: (name) => $.tables[name], rows: (table) => table.rows, column: (table, name) => table.rows.map((one) => Number(one[name])),
    add: each((a, b) => a + b), sub: each((a, b) => a - b), mul: each((a, b) => a * b), div: each((a, b) => a / b),
    pow: each((a, b) => a ** b), mod: each((a, b) => a - b * Math.floor(a / b)), floordiv: each((a, b) => Math.floor(a / b)),
    lt: each((a, b) => a < b), le: each((a, b) => a <= b), gt: each((a, b) => a > b), ge: each((a, b) => a >= b),
    eq: (a, b) => (Array.isArray(a) !== Array.isArray(b) ? each((x, y) => x === y)(a, b) : Array.isArray(a) ? JSON.stringify(a) === JSON.stringify(b) : a === b),
    is: (a, b) => a === b, isNot: (a, b) => a !== b,
    ne: (a, b) => each((same) => !same)($.eq(a, b)), and: each((a, b) => a && b), or: each((a, b) => a || b),
    in: (one, all) => (typeof all === "string" ? all.includes(one) : Array.isArray(all) ? all.some((other) => $.eq(one, other)) : Object.hasOwn(all, one)),
    notIn: (one, all) => !$.in(one, all),
    any: (x) => listed(x).flat(Infinity).some(truth), all: (x) => listed(x).flat(Infinity).every(truth),
    above: each(above), below: each(below), larger: each(Math.max), smaller: each(Math.min),
    roundUp: each((x) => Math.ceil(x - 1e-9)), sqrt: each(Math.sqrt), exp: each(Math.exp), ln: positive(Math.log), log10: positive(Math.log10),
    erf: each(erfOf), erfc: each(erfcOf), Phi: each((x) => erfcOf(-x / Math.SQRT2) / 2), asin: each(Math.asin), abs: each(Math.abs),
    floor: each(Math.floor), clip: each((x, low, high) => Math.min(Math.max(x, low), high)), where: each((test, a, b) => (test ? a : b)),
    number: (x) => {
      const found = typeof x === "string" && !x.trim() ? NaN : Number(x);
      if (Number.isNaN(found)) throw new Refused(`“${x}” is no number`);
      return found;
    },
    int: (x) => Math.trunc(Number(x)), str: python, len: (x) => (x.length === undefined ? Object.keys(x).length : x.length),
    round: each((x, digits = 0) => (digits ? Number(x.toFixed(digits)) : even(x))), same: (x) => x, ndim: (x) => (Array.isArray(x) ? 1 : 0),
    mean: (x) => sum(x) / listed(x).length, max: (...given) => Math.max(...spread(given)), min: (...given) => Math.min(...spread(given)),
    next: (from, other) => {
      if (from.length) return from[0];
      if (other === undefined) throw new Refused("nothing of the table fits");
      return other;
    },
    enumerate: (x) => listed(x).map((one, i) => [i, one]), zip: (...all) => listed(all[0]).map((_, i) => all.map((one) => one[i])),
    range: (a, b) => Array.from({ length: b === undefined ? a : b - a }, (_, i) => (b === undefined ? i : a + i)),
    part: (x, from, to) => x.slice(from ?? 0, to ?? undefined), flat: (x) => listed(x).flat(Infinity),
    sorted: (x) => [...new Set(x)].sort((a, b) => (a < b ? -1 : a > b ? 1 : 0)),
    searchsorted: (xs, x) => xs.filter((one) => one < x).length, join: (by, all) => all.join(by), strip: (text) => text.trim(), isdigit: (text) => /^\d+$/.test(text), lower: (text) => text.toLowerCase(),
    rstrip: (text, end) => (text.endsWith(end) ? text.slice(0, -end.length) : text),
    // inverse error functions by Newton's method on the error function itself
    erfinv: (y) => inverse((x) => (Math.abs(y) < 0.5 ? erfOf(x) - y : y > 0 ? 1 - y - erfcOf(x) : erfOf(x) - y), y),
    erfcinv: (y) => (y < 0.5 ? inverse((x) => y - erfcOf(x), 1 - y) : inverse((x) => erfOf(x) - (1 - y), 1 - y)),
    split: (text, by) => (by === undefined ? text.trim().split(/\s+/) : text.split(by)),
    startswith: (text, start) => text.startsWith(start), endswith: (text, end) => text.endsWith(end),
    get: (from, key, other = null) => from[key] ?? other, items: Object.entries, keys: Object.keys, values: Object.values,
    partition: (text, by) => {
      const place = text.indexOf(by);
      return place < 0 ? [text, "", ""] : [text.slice(0, place), by, text.slice(place + by.length)];
    },
    isclose: (a, b, { rel_tol = 1e-9, abs_tol = 0 } = {}) => Math.abs(a - b) <= Math.max(rel_tol * Math.max(Math.abs(a), Math.abs(b)), abs_tol),
  };
})();
