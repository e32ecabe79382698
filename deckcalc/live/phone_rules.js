// What the entries of a patch come to: calculations in translation, and tables looked up on the safe side; nothing here touches the page.
const rules = (() => {
  const { Refused } = $;
  const MOST = { depth: 9, cover: 3 };
  const OUTSIDE = "outside the table, and nothing is worked out beyond it";

  // the row for a reading: the next one up or down; null outside the table
  const lookedUp = (rows, reading, side, key) => {
    const found = [...rows].sort((a, b) => key(a) - key(b));
    if (!found.length || reading < key(found[0]) * (1 - 1e-9) || reading > key(found.at(-1)) * (1 + 1e-9)) return null;
    if (side === "up") return found.find((row) => key(row) >= reading * (1 - 1e-9));
    return found.filter((row) => key(row) <= reading * (1 + 1e-9)).at(-1);
  };
  const run = (key, given) => {
    for (const one of C[key].params)
      for (const x of $.listed(given[one.name])) {
        const enough = one.above ? x > one.low : x >= one.low - one.slack;
        if (!(enough && x <= one.high * (1 + 1e-9))) throw new Refused(`${one.meaning} lies outside what it is worked out for`);
      }
    return hand.run(C[key], given);
  };
  const found = (env, name) => name.split(".").reduce((one, part) => one[part], env);
  const chain = (steps, env) => {
    for (const [name, key, given] of steps)
      env[name] = run(key, Object.fromEntries(Object.entries(given).map(([arg, value]) => [arg, typeof value === "string" ? found(env, value) : value])));
    return env;
  };

  // what is typed, with the unit of the field where it has none
  const written = (field, text, eighths, system) => {
    if (/[.,/+-]$/.test(text)) throw new Refused(`found “${text}”, which is not finished`);
    if (eighths) {
      if (!/^\d*$/.test(text)) throw new Refused(`found “${text}” beside ${eighths}/8; write whole inches there, or leave the eighths`);
      return `${text || 0} ${eighths}/8 in`;
    }
    return /[^\d\s.,/+-]/.test(text) ? text : `${text} ${field.unit[system]}`.trim();
  };
  const read = (field, text, eighths, system) => {
    const made = written(field, text, eighths, system), { given, faults } = hand.entries({ params: [field] }, { it: made }, system);
    if (faults.it) throw new Refused(faults.it);
    return { value: given.it.value, text: made };
  };
  const minutes = (text) => {
    const match = /^(\d{4})-(\d\d)-(\d\d)T(\d\d):(\d\d)/.exec(text);
    return match ? Date.UTC(match[1], match[2] - 1, ...match.slice(3)) / 60000 : NaN;
  };

  // class, depth to break out, volume, batches
  const hole = (patch, depths, covers) => {
    const read = { depths, deep: depths.map((one) => Math.max(one, patch.floor)), covers: covers.length ? covers : patch.covers_planned };
    const env = chain(patch.steps.cover, { read }), calls = [], deepest = Math.max(...depths);
    const row = patch.full ? null : lookedUp(patch.depths, deepest, "up", (one) => one.depth);
    if (!patch.full && !row) throw new Refused(`the deepest reading lies ${OUTSIDE}`);
    if (!patch.full && covers.length && !(lookedUp(patch.covers, Math.min(...covers), "down", Number) && lookedUp(patch.covers, Math.max(...covers), "up", Number)))
      throw new Refused(`a cover lies ${OUTSIDE}`);
    const full = patch.full || row.full;
    chain(patch.steps[full ? "full" : "partial"], env);
    if (full && !patch.full) calls.push("it goes through: full depth, and no form is drawn for it");
    if (patch.part) calls.push("a part of it goes through: its volume is that of the sheet, not of readings");
    if (!full && env.left.h_d >= patch.slab * (1 - 1e-9)) calls.push("the removal goes through");
    else if (!full && env.left.h_d >= patch.through * (1 - 1e-9)) calls.push("to free the bars it would be broken out as deep as full depth");
    const freed = !full && env.removal.n_r > 0;
    if (freed && !patch.bars.length) calls.push("bars are reached that the plan does not reach");
    const made = { class: full ? "full depth" : row.class, full, deepest, mean: env.depth.h_mean, freed, calls, volume: patch.part ? null : env.volume.V_order };
    Object.assign(made, full ? { out: null, to: null, saw: null } : { out: env.left.h_d, to: env.removal.h_r, saw: env.saw.d_saw_max });
    return patch.part ? made : { ...made, ...loads(patch, full, full ? patch.slab : env.removal.h, env) };
  };
  const loads = (patch, full, depth, env) => {
    const how = patch.loads[full ? "full" : "partial"].filter((one) => depth >= one.from * (1 - 1e-9)).at(-1);
    if (!how) return { concrete: "", bags: null, batches: null };
    chain(how.steps, env);
    const bags = found(env, how.bags);
    return { concrete: how.concrete, bags, batches: how.batches ? found(env, how.batches) : $.roundUp(bags / found(env, how.most)) };
  };

  // what is done with a bar; a neighbour is the thinnest reading of the bar beside it
  const verdict = (table, reading, neighbour) => {
    if ($.below(reading, table.call)) return "call";
    const both = neighbour !== null && $.below(Math.max(reading, neighbour), table.pair);
    return $.below(reading, table.leave) || both ? "add" : "leave";
  };
  const bars = (patch, readings) => {
    const made = {};
    for (const one of patch.bars) {
      const d = readings[one.name];
      if (d) made[one.name] = { thinnest: Math.min(...d), loss: run(one.key, { A_0: one.area, d }).loss };
    }
    patch.bars.forEach((one, at) => {
      const mine = made[one.name], table = patch.calipers[one.table];
      if (!mine) return;
      const beside = [patch.bars[at - 1], patch.bars[at + 1]].filter((other) => other && other.layer === one.layer && made[other.name]).map((other) => made[other.name].thinnest);
      const all = table ? [verdict(table, mine.thinnest, null), ...beside.map((other) => verdict(table, mine.thinnest, other))] : ["call"];
      mine.verdict = ["call", "add", "leave"].find((word) => all.includes(word));
      if (mine.verdict === "add" && !table.cuts.length) mine.verdict = "call", mine.why = "no room for laps in the patch";
    });
    return made;
  };
  // length to which an added bar is cut; null where the patch has no room for it
  const cut = (table, length) => lookedUp(table.cuts, Math.max(length, table.cuts[0][0]), "up", ([loss]) => loss)?.[1] ?? null;

  // hours: what opens when, by temperatures of concrete and air
  const opening = (placing, warm, air) => {
    const level = [...new Set(placing.rows.map((row) => row.air))].filter((one) => air >= one * (1 - 1e-9)).sort((a, b) => a - b).at(-1);
    return lookedUp(placing.rows.filter((row) => row.air === level), warm, "down", (row) => row.concrete);
  };
  const hours = (data, patch, { warm, air, slab, begin, end }) => {
    const placing = data.placings[patch.placing], { within, least, said } = placing, go = [], calls = [];
    const held = (what, value, holds, wanted) => value !== null && go.push([what, holds, wanted]);
    if (within) held("fresh concrete", warm, warm >= within[0] * (1 - 1e-9) && warm <= within[1] * (1 + 1e-9), said.warm);
    held("air", air, air >= least.air * (1 - 1e-9), `${said.air} or more`);
    held("hole and bars", slab, slab >= least.slab * (1 - 1e-9), `${said.slab} or more`);
    const at = (text) => (text ? minutes(text) : null), [first, last] = [at(begin), at(end)];
    let row = null, opens = null, by = null;
    if (placing.rows.length && warm !== null && air !== null) {
      row = opening(placing, warm, air);
      if (!row) calls.push(`the temperatures lie ${OUTSIDE}`);
      else if (!row.opens) calls.push("not strong by the planned hour of opening at these temperatures");
      else by = row.by;
    }
    if (row && slab !== null && slab < placing.slab * (1 - 1e-9)) calls.push(`the hole is colder than ${placing.slab_said}, for which the hours are worked out`), by = row = null;
    if (patch.by && !Number.isNaN(minutes(patch.by))) by = by && minutes(by) < minutes(patch.by) ? by : patch.by;
    else if (patch.by) calls.push("the timetable does not open on time");
    if (first !== null && by) go.push(["placing begins", first <= minutes(by), by]);
    if (row?.opens && (first !== null || last !== null)) {
      const late = Math.max(last === null ? 0 : last - minutes(placing.end), first === null || patch.name !== placing.first ? 0 : first - minutes(placing.start));
      if (late <= 0) opens = row.opens;
      else if (late <= minutes(row.by) - minutes(placing.start)) opens = placing.opening;
      else calls.push("placed too late to be strong by the planned opening: the lane stays closed");
    }
    for (const moment of [first, last]) if (moment !== null && !(moment >= minutes(data.from) && moment <= minutes(data.to))) calls.push("an hour lies outside this closure");
    return { go, calls, by, opens, known: placing.rows.length > 0, late: opens !== null && opens === placing.opening && opens !== row?.opens };
  };

  // all of a patch: what cannot be read, what follows, rows for the record, what is left out of them
  const work = (data, patch, entered) => {
    const faults = {}, left = [], rows = [], calls = [], { system, fields } = data;
    const text = (id) => String(entered[id] ?? "").trim();
    const get = (id, field) => {
      if (!text(id) && !text(`${id}.e`)) return null;
      try {
        return read(field, text(id), text(`${id}.e`), system);
      } catch (error) {
        if (!(error instanceof Refused)) throw error;
        faults[id] = error.message;
        return null;
      }
    };
    const several = (start, most, field) => Array.from({ length: most }, (_, at) => get(`${start}${at}`, field)).filter(Boolean);
    const clean = (start) => !Object.keys(faults).some((id) => id.startsWith(start));
    const attempt = (f) => {
      try {
        return f();
      } catch (error) {
        if (!(error instanceof Refused)) throw error;
        calls.push(error.message);
        return null;
      }
    };
    const when = (id) => {
      if (text(id) && Number.isNaN(minutes(text(id)))) faults[id] = `found “${text(id)}”, wanted date and hour`;
      return faults[id] ? "" : text(id);
    };
    const spoken = (time) => time.slice(0, 16).replace("T", " "), numbers = (list) => list.map((one) => one.value), joined = (list) => list.map((one) => one.text).join("; ");
    const filled = (row) => Object.fromEntries(Object.entries(row).filter(([, cell]) => cell));

    const depths = several("d", MOST.depth, fields.depth), covers = several("c", MOST.cover, fields.cover), time = when("f.time"), by = text("who");
    for (const one of depths) if (one.value > patch.slab * (1 + 1e-9)) calls.push("a depth is more than the slab: daylight, or measured from another surface");
    const sound = depths.length > 0 && clean("d") && clean("c"), made = sound && !calls.length ? attempt(() => hole(patch, numbers(depths), numbers(covers))) : null;
    if (made) calls.push(...made.calls);
    if (depths.length) rows.push({ table: "as_found", row: filled({ patch: patch.name, depths: joined(depths), covers: joined(covers), time: time && spoken(time), by }) });
    else if (covers.length) left.push("cover (no depth is entered)");

    const readings = {}, lengths = {};
    for (const one of patch.bars) {
      const start = `b.${one.name}.`, d = several(start, data.reads, one.field), length = get(`${start}l`, fields.loss);
      if (!d.length && length) left.push(`length of the loss of ${one.name} (no diameter is entered)`);
      if (!d.length || !clean(start)) continue;
      if (d.length < data.reads) {
        faults[`${start}${data.reads - 1}`] ??= `${d.length} of ${data.reads} readings are entered`;
        continue;
      }
      readings[one.name] = numbers(d);
      if (length) lengths[one.name] = length.value;
      const fresh = one.new ? { size: one.size, layer: one.layer } : {};
      rows.push({ table: "as_found_bars", row: filled({ bar: one.name, readings: joined(d), patch: patch.name, ...fresh, loss_length: length?.text }) });
    }
    const judged = bars(patch, readings);
    for (const [name, one] of Object.entries(judged)) {
      const table = patch.calipers[patch.bars.find((bar) => bar.name === name).table];
      if (one.verdict === "add") {
        Object.assign(one, { added: table.added, lap: table.lap, cut: name in lengths ? cut(table, lengths[name]) : undefined });
        if (one.cut === null) [one.verdict, one.why] = ["call", "the loss is longer than the patch has room for"];
      }
      if (one.verdict === "call") calls.push(`bar ${name}: ${one.why ?? "thinner than its table"}`);
    }

    const [warm, air, slab] = ["warm", "air", "slab"].map((id) => get(id, fields[id])), begin = when("begin"), batches = [];
    for (let at = 0; text(`k${at}.time`) || text(`k${at}.bags`); at++) {
      const moment = when(`k${at}.time`), bags = get(`k${at}.bags`, fields.bags), before = batches.at(-1)?.moment ?? begin;
      if (moment && before && minutes(moment) < minutes(before)) faults[`k${at}.time`] = "before the hour above it";
      else if (!moment) faults[`k${at}.time`] ??= "no hour is entered";
      if (clean(`k${at}.`)) batches.push({ moment, bags, load: `${patch.name}-${at + 1}` });
    }
    batches.forEach(({ moment, bags, load }, at) => {
      const read = at ? {} : { concrete_temperature: warm?.text, air_temperature: air?.text, slab_temperature: slab?.text };
      rows.push({ table: "as_built", row: filled({ load, patches: patch.name, time: spoken(moment), bags: bags?.text, ...read, by }) });
    });
    if (!batches.length && (warm || air || slab)) left.push("temperatures (no batch is in place)");
    const clock = hours(data, patch, { warm: warm?.value ?? null, air: air?.value ?? null, slab: slab?.value ?? null, begin, end: batches.at(-1)?.moment ?? "" });
    calls.push(...clock.calls);
    left.push(...Object.keys(faults).map((id) => `“${text(id)}”`));
    const holds = patch.holds.flatMap((one, at) => (entered[`h.${at}`] ? [{ patch: patch.name, hold: one.when, what: one.what, by: text(`n.${one.when}.${one.who}`) }] : []));
    return { faults, calls: [...new Set(calls)], hole: made, waits: depths.length > 0 || !clean("d"), bars: judged, clock, batches: batches.length, rows, left, holds };
  };

  return { work, hole, bars, verdict, cut, lookedUp, opening, minutes, MOST };
})();
