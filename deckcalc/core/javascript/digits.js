// Digits of printed numbers, as `deckcalc.core.digits` prints them.
const digits = (() => {
  // half rounded up, of the fourteen digits that a number was meant to have, without a negative nought
  const fixed = (value, decimals) => {
    if (!Number.isFinite(value)) return Number.isNaN(value) ? "nan" : value > 0 ? "inf" : "-inf";
    const [mantissa, power] = Math.abs(value).toExponential(13).split("e");
    const shift = Number(power) - 13 + decimals;  // of the last digit, against the last that is printed
    let whole = BigInt(mantissa.replace(".", ""));
    if (shift >= 0) whole *= 10n ** BigInt(shift);
    else {
      const unit = 10n ** BigInt(Math.min(-shift, 400));
      whole = (2n * whole + unit) / (2n * unit);
    }
    const text = String(whole).padStart(decimals + 1, "0");
    const shown = decimals ? `${text.slice(0, -decimals)}.${text.slice(-decimals)}` : text;
    return value < 0 && whole ? `-${shown}` : shown;
  };
  const close = (a, b) => Math.abs(a - b) <= Math.max(1e-12 * Math.max(Math.abs(a), Math.abs(b)), 1e-15);
  const exact = (value, most) => {
    for (let decimals = 0; decimals <= most; decimals++) if (close(Number(fixed(value, decimals)), value)) return decimals;
    return null;
  };
  const small = (given, least, significant = 3) => {
    const value = Number.isFinite(given) ? Number(given.toPrecision(12)) : given;  // a one with the noise of a computation is a one
    if (!value || !Number.isFinite(value) || Math.abs(value) >= 1) return least;
    return Math.max(least, significant - 1 - Number(Math.abs(value).toExponential().split("e")[1]));
  };
  return { fixed, exact, small };
})();
