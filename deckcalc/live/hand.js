// The calculation of a page: entries taken to plain numbers, lines worked out, digits added until the print holds, as
// `deckcalc.core.boundary` and `deckcalc.show.hand` do it.
const hand = (() => {
  const { Refused } = $;
  const together = "these values do not go together: a division by nothing, or a root or logarithm of what has none";
  const each = (value, f) => (Array.isArray(value) ? value.map(f) : f(value));

  // a quantity as the plain number of the body
  const toPlain = ({ number, scale, zero }, [own, nought]) => {
    if (scale === own && zero === nought) return number;
    return own === 1 && !nought ? number * scale + zero : (number * scale + zero - nought) / own;
  };
  // what a field comes to: the plain value, and the number that is printed in either system
  const entry = (param, text, system) => {
    if (text === undefined && !param.required) {
      const shown = Object.entries(param.printed ?? {}).map(([name, { scale, zero }]) => [name, each(param.default, (x) => (x - zero) / scale)]);
      return { value: param.default, printed: Object.fromEntries(shown) };
    }
    if (text === undefined) throw new Refused(`nothing is entered, wanted ${param.wanted[system]}`);
    if (param.choices) {
      if (param.choices.includes(text)) return { value: text };
      throw new Refused(`found “${text}”, wanted ${param.wanted[system]}`);
    }
    const wanted = param.wanted[system];
    const all = reading.read(text, param.kind, param.several > 0, wanted);
    if (all.length < param.several) throw new Refused(`found ${all.length} of the readings, wanted at least ${param.several}`);
    const value = all.map((one) => toPlain(one, param.target));
    const low = Math.min(...value), high = Math.max(...value);
    const enough = param.above ? low > param.low : low >= param.low - param.slack;
    if (!(enough && high <= param.high * (1 + 1e-9) && Number.isFinite(low) && Number.isFinite(high)))
      throw new Refused(`${param.meaning} is ${text.trim()}, wanted ${wanted}`);
    const odd = param.whole && value.some((one) => Math.abs(one - Math.round(one)) > 1e-9 * Math.max(Math.abs(one), 1));
    if (odd) throw new Refused(`${param.meaning} is ${text.trim()}, wanted a whole number: ${wanted}`);
    const alone = (list) => (param.several ? list : list[0]);
    const shown = Object.entries(param.printed).map(([name, { own }]) => [name, alone(all.map((one) => toPlain(one, own)))]);
    return { value: alone(value), printed: Object.fromEntries(shown) };
  };
  // all fields: values of those that can be used, what is wrong with the others
  const entries = (calculation, texts, system) => {
    const given = {}, faults = {};
    for (const param of calculation.params) {
      try {
        given[param.name] = entry(param, texts[param.name], system);
      } catch (error) {
        if (!(error instanceof Refused)) throw error;
        faults[param.name] = error.message;
      }
    }
    return { given, faults };
  };

  // the body on plain numbers
  const run = (calculation, values) => {
    const v = { ...values };
    for (const line of calculation.lines) {
      v[line.name] = line.run(v);
      if (!Number.isFinite(v[line.name])) throw new Refused(together);
    }
    return v;
  };

  // a difference of temperatures has the noise of the kelvins that it comes from beyond its twelfth digit; nought where a number is no more than the noise of a difference or of a conversion
  const quiet = (number) => (!Array.isArray(number) && Math.abs(number) < 1e-12 ? 0 : number);
  // decimals of every name, so that each printed line follows from its printed operands
  const written = (calculation, given, system) => {
    const plain = run(calculation, Object.fromEntries(Object.entries(given).map(([name, one]) => [name, one.value])));
    const kinds = {}, values = {}, decimals = {};
    for (const param of calculation.params) {
      if (param.choices) values[param.name] = given[param.name].value;
      else [kinds[param.name], values[param.name]] = [{ ...param, exact: true }, quiet(given[param.name].printed[system])];
    }
    for (const line of calculation.lines) {
      const { scale, zero } = line.printed[system], number = (plain[line.name] - zero) / scale;
      [kinds[line.name], values[line.name]] = [line, quiet(line.degrees ? Number(number.toPrecision(12)) : number)];
    }
    const trade = (number, kind) => {
      const least = kind.printed[system].decimals, needed = kind.count ? least : digits.small(number, least);
      return kind.probability ? Math.min(needed, 2) : needed;
    };
    for (const [name, kind] of Object.entries(kinds)) {
      const numbers = $.listed(values[name]), exact = numbers.map((x) => (kind.exact ? digits.exact(x, 3) : null));
      decimals[name] = Math.max(...(exact.includes(null) ? numbers.map((x) => trade(x, kind)) : exact));
    }
    const again = (name) => (kinds[name] ? each(values[name], (x) => Number(digits.fixed(x, decimals[name]))) : values[name]);
    const work = (line, numbers) => {
      const v = {};
      for (const [name, number] of Object.entries(numbers)) {
        const to = kinds[name]?.printed[system];
        v[name] = to ? each(number, (x) => x * to.scale + to.zero) : number;
      }
      const { scale, zero } = line.printed[system];
      try {
        return (line.run(v) - zero) / scale;
      } catch (error) {
        if (error instanceof Refused) return null;  // a look-up refuses a value that was only rounded out of its range
        throw error;
      }
    };
    const holds = (line) => {
      const made = work(line, Object.fromEntries(line.operands.map((name) => [name, again(name)])));
      return made !== null && Math.abs(made - again(line.name)) <= 0.5 * 10 ** -decimals[line.name] * (1 + 1e-7);
    };
    const rounding = (line, name) => {
      const made = work(line, { ...values, [name]: again(name) });
      return made === null ? Infinity : Math.abs(made - values[line.name]);
    };
    for (let step = 0; ; step++) {
      const line = calculation.lines.find((one) => !holds(one));
      if (!line) break;
      if (step === 400) throw new Refused("no number of decimals makes the print hold");
      let worst = line.name, most = 0;
      for (const name of line.operands) {
        const moved = kinds[name] ? rounding(line, name) : 0;
        if (moved > most) [worst, most] = [name, moved];
      }
      decimals[worst] += 1;
    }
    const numbers = (name) => $.listed(values[name]).map((x) => digits.fixed(x, decimals[name]));
    const unit = (name) => kinds[name].printed[system].unit;
    const text = (name) => (kinds[name] ? `${numbers(name).join(", ")} ${unit(name)}`.trim() : values[name]);
    const governs = (line) => {
      if (!line.rivals) return [];
      return line.rivals.filter(([name]) => Math.abs(values[line.name] - values[name]) < 1e-12 * (1 + Math.abs(values[name])));
    };
    return { plain, values, decimals, text, numbers, unit, governs };
  };

  return { entries, run, written, toPlain };
})();
