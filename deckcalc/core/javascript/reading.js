// Values as people write them, read as `deckcalc.core.spelling`, `units` and `written` read them; `spelled` holds their patterns
// and the factors of the units, made from the registry.
const reading = (() => {
  const { Refused } = $;
  let spelled;
  const use = (data) => {
    spelled = { ...data, patterns: Object.fromEntries(Object.entries(data.patterns).map(([name, [text, flags]]) => [name, new RegExp(text, flags)])) };
    spelled.vulgar = new Map(Object.entries(data.vulgar));
  };
  const blanks = (text) => text.trim().split(/\s+/).filter(Boolean).join(" ");
  const found = (name, text) => spelled.patterns[name].exec(text);

  const plain = (text) => {
    let made = text.replaceAll("''", '"');
    for (const [sign, usual] of Object.entries(spelled.alike)) made = made.replaceAll(sign, usual);
    made = [...made].map((sign, at, all) => (spelled.vulgar.has(sign) ? `${/\d/.test(all[at - 1] ?? "") ? " " : ""}${spelled.vulgar.get(sign)} ` : sign)).join("");
    return blanks(made);
  };

  const readings = (given, along) => {
    if (given.length > spelled.longest) return [];
    let text = plain(given), match;
    if (along) {
      text = text.replace(spelled.patterns.prefix, "");
      if ((match = found("station", text))) return station(match.groups);
    }
    if ((match = found("feet", text))?.groups.mark) return feet(match.groups);
    let sign = 1;
    if (/^[-+]/.test(text)) {
      sign = text[0] === "-" ? -1 : 1;
      text = text.slice(1).trimStart();
    }
    let numbers;
    if ((match = found("fraction", text))) {
      const [, whole, over, under] = match.map((one) => Number(one ?? 0));
      numbers = under ? [(whole * under + over) / under] : [];
    } else if ((match = found("number", text))) numbers = ofNumber(match);
    else return [];
    const unit = text.slice(match[0].length).trim();
    return numbers.map((one) => ({ number: sign * one, unit: spelled.marks[unit] ?? unit }));
  };
  const ofNumber = (match) => {
    const { blank, comma } = match.groups, text = match[0];
    if (blank) return [Number(text.replaceAll(" ", "").replaceAll(",", "."))];
    if (!comma) return [Number(text.replaceAll(",", ""))];
    const decimal = Number(`0${text.replaceAll(".", "").replaceAll(",", ".")}`);
    return /^[1-9]\d{0,2},\d{3}$/.test(text) ? [decimal, Number(text.replaceAll(",", ""))] : [decimal];
  };
  const feet = ({ sign, feet: whole, inches }) => {
    const [within] = readings(inches.replaceAll(",", "."), false);
    if (!within || within.number >= 12) return [];
    const number = 12 * Number(whole) + within.number;
    return [{ number: sign === "-" ? -number : number, unit: "in" }];
  };
  const station = ({ sign, before, after, decimals, unit }) => {
    const written = (unit ?? "").replace(/\.+$/, "").toLowerCase(), digits = after.length;
    const known = written in spelled.stations ? [spelled.stations[written]] : written || digits !== 2 ? [] : ["ft", "m"];
    if ((digits !== 2 && digits !== 3) || (digits === 3 && String(known) !== "m")) return [];
    const number = Number(before + after + (decimals ?? "").replace(",", "."));
    return known.map((one) => ({ number: sign === "-" ? -number : number, unit: one }));
  };

  // a unit in the signs of a formula; null if it is none by its form
  const formula = (text) => {
    const low = (sign) => (spelled.superscripts[sign] ?? sign);
    let made = text.replace(/\bper\b/g, "/");
    made = made.replace(/\b(sq|square|cu|cubic)\b\.? ?([a-z]+)\b\.?/g, (_, what, name) => `${name}^${what[0] === "s" ? 2 : 3}`);
    made = blanks(made).replace(/(?<=[a-zA-Z])(⁻?[⁰¹²³⁴⁵⁶⁷⁸⁹]+)/g, (power) => `**${[...power].map(low).join("")}`);
    made = made.replaceAll("·", "*").replaceAll("^", "**").replace(/\b(mm|cm|m|in|ft|yd)([234])\b/g, "$1**$2");
    made = made.replace(/\/\s*100\s*kg\b/g, "/hundred_kilograms").replaceAll("fl oz", "floz");
    made = made.replace(/Δ\s*°\s*([CF])\b/g, "delta_deg$1").replace(/°\s*([CF])\b/g, "deg$1").replaceAll("%", "percent");
    made = made.replace(/(?<=[a-zA-Z])\.(?=[a-zA-Z])/g, "*").replace(/(?<=[a-zA-Z])\.(?=[ */)]|$)/g, "");
    return spelled.patterns.unit.test(made) && !made.includes("__") ? made : null;
  };

  // factor, offset and dimensions of a unit; null if a page does not know it
  const unit = (text) => {
    const made = formula(text);
    if (made === null || text.length > spelled.longestUnit || /\bmils?\b/.test(text)) return null;
    if (made === "") return { scale: 1, zero: 0, dimensions: [], name: "" };
    if (made in spelled.offset) return spelled.offset[made];
    let scale = 1, sign = 1, inner = 0, outer = 1;
    const dimensions = {};
    for (const [token, name, power] of made.matchAll(/[*/()]|1(?= ?\/)|([A-Za-z°µμΩΩÅÅ][A-Za-z0-9_°µμΩΩÅÅ]*)(?: ?\*\* ?\(?(-?\d)\)?)?/g)) {
      if (token === "/") sign = -1;
      else if (token === "*") sign = 1;
      else if (token === "(") [outer, sign, inner] = [outer * sign, 1, 1];
      else if (token === ")") [outer, inner, sign] = [1, 0, 1];
      else if (name) {
        const known = spelled.units[name];
        if (!known) return null;
        const exponent = sign * outer * Number(power ?? 1);
        scale = exponent < 0 ? scale / known[0] ** -exponent : scale * known[0] ** exponent;
        for (const [dimension, times] of Object.entries(known[1])) dimensions[dimension] = (dimensions[dimension] ?? 0) + exponent * times;
        sign = 1;
      }
    }
    return { scale, zero: 0, dimensions: key(dimensions), name: made };
  };
  const key = (dimensions) => Object.entries(dimensions).filter(([, times]) => times).map(([name, times]) => `${name}${times}`).sort();
  const usualCase = (text) => text.replace(/[A-Za-z]+/g, (word) => spelled.usual[word.toLowerCase()] ?? word);
  const fits = (one, kind) => {
    if (!one || String(one.dimensions) !== String(kind.dimensions)) return false;
    return !kind.dimensions.some((part) => part.startsWith("temperature")) || one.name === "K" || one.name === "kelvin" || Boolean(one.temperature) === kind.temperature;
  };
  const unitOf = (text, kind) => {
    const usual = usualCase(text), own = unit(text), other = usual === text ? own : unit(usual);
    if (usual === text || !fits(other, kind)) return own;
    if (fits(own, kind) && (own.scale !== other.scale || own.zero !== other.zero)) throw new Refused(`“${text}” is a unit as well as “${usual}”; write ${usual} if that is meant`);
    return other;
  };

  const bar = (text) => {
    const { bars } = spelled, size = plain(text);
    if (text in bars) return bars[text];
    const names = meant(size).filter((name) => name in bars);
    if (names.length === 1) return bars[names[0]];
    throw new Refused(names.length ? `found “${text}”, which may be the bar ${names.join(" or ")}; write one of them` : `found “${text}”, which is no size of bar`);
  };
  const meant = (size) => {
    let match = found("bar", size);
    if (match) {
      const sign = (match[1] ?? "").toLowerCase().replace(/\.+$/, ""), number = match[2], end = (match[3] ?? "").toLowerCase();
      if (["#", "no", "number"].includes(sign)) return `#${number}` in spelled.bars ? (end ? [] : [`#${number}`]) : [];
      if (sign === "m" || end === "m") return sign && end ? [] : sign ? [`M${number}`] : [`${number}M`];
      return [number];
    }
    match = found("old", size);
    if (match && !(match[1] && match[3]) && (match[1] || match[3])) return [`${(match[1] ?? match[3]).toLowerCase()} ${match[2]} in`];
    return [];
  };

  // one quantity: the number as it was written, with factor and offset to the coherent SI unit
  const quantity = (text, kind, wanted) => {
    const written = blanks(String(text));
    if (written.length > spelled.longest) throw new Refused(`found “${written.slice(0, 40)}…”, wanted ${wanted}, in at most ${spelled.longest} characters`);
    if (!written) throw new Refused(`nothing is entered, wanted ${wanted}`);
    let made = plain(written);
    if ([...made].some((sign) => /\p{N}/u.test(sign) && !/[0-9]/.test(sign) && !(sign in spelled.superscripts)))
      throw new Refused(`found “${written}”: write numbers with 0 to 9, -, . and /, as in 2 1/2; wanted ${wanted}`);
    const sized = found("sized", made);
    if (sized && String(kind.dimensions) === "length1") {
      const rest = made.slice(sized[0].length);
      if (sized.groups.bar || /^\d+$/.test(rest)) {
        const [number, scale] = bar(made);
        return { number, scale, zero: 0 };
      }
      made = rest;
    }
    const all = readings(made, kind.along);
    if (all.length > 1) throw new Refused(`found “${written}”, which may be ${all.map((one) => `${one.number} ${one.unit}`.trim()).join(" or ")}; write one of them`);
    if (!all.length) throw new Refused(`found “${written}”, wanted ${wanted}`);
    const [{ number, unit: name }] = all;
    if (!Number.isFinite(number) || (!number && /^[-+.0]*[1-9]/.test(made))) throw new Refused(`found “${written}”, which is no finite number; wanted ${wanted}`);
    if (!name && kind.dimensions.length) throw new Refused(`found “${written}” without a unit, wanted ${wanted}`);
    const known = unitOf(name, kind);
    if (!known) throw new Refused(`found “${written}”: “${name}” is not a unit that this page knows; wanted ${wanted}`);
    if (!fits(known, kind)) throw new Refused(`found “${written}”, which is no ${kind.name}; wanted ${wanted}`);
    return { number, scale: known.scale, zero: known.zero };
  };

  // one quantity, or a list of readings
  const read = (text, kind, several, wanted) => {
    if (!several) return [quantity(text, kind, wanted)];
    if (!kind.dimensions.length && /\d,\d/.test(text))
      throw new Refused(`found “${text}”, where a comma may stand within a number or between two; write a point within a number, and “;” between two`);
    const parts = text.trim().split(/\s*(?:;|(?<!\d),|,(?!\d))\s*/).filter(Boolean);
    return (parts.length ? parts : [text]).map((part) => quantity(part, kind, wanted));
  };

  return { use, read, readings, plain, unit };
})();
