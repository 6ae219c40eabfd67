// Lengths and weights as they are typed and shown. The server reads the same text again and has the last word.

const PER_UNIT = { cm: 10, in: 25.4, kg: 1, lb: 0.45359237 }; // mm or kg
const NAMES = { cm: "centimetres", in: "inches", kg: "kilograms", lb: "pounds" };
const TEXT = /^(?:(\d{1,4})(?:[.,](\d{1,2}))?)?(?: ?(\d)\/(2|4|8))?$/;

export const EIGHTHS = ["1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8"];
export const nameOf = (unit) => NAMES[unit];

// The unit in which a measure is typed by somebody who tapes in "cm" or "in".
export const typedIn = (measure, unit) => (measure.unit === "kg" ? (unit === "in" ? "lb" : "kg") : unit);

// What was typed, in mm (weight: kg); throws an Error whose message is for the person who typed.
export function read(text, unit) {
  const found = TEXT.exec(text.trim());
  const [, whole, decimals, over, under] = found ?? [];
  if (!found || (whole === undefined && over === undefined)) {
    throw new Error(`Type a number${unit === "in" ? " with eighths, as in 38 1/4" : ", as in 97.5"}.`);
  }
  if (over !== undefined && (decimals !== undefined || Number(over) >= Number(under) || Number(over) === 0)) {
    throw new Error("Type either a fraction or a point, as in 38 1/4 or 38.25.");
  }
  const figure = Number(whole ?? 0) + Number(`0.${decimals ?? 0}`) + (over ? Number(over) / Number(under) : 0);
  if (figure === 0) throw new Error("Type a number above 0.");
  return figure * PER_UNIT[unit];
}

// A value (mm, weight: kg) in a unit without its name: 97.5, 38 1/4.
export function figure(value, unit) {
  const amount = value / PER_UNIT[unit];
  if (unit !== "in") return amount.toFixed(1);
  const eighths = Math.round(amount * 8);
  const part = eighths % 8 ? EIGHTHS[(eighths % 8) - 1] : "";
  return [Math.floor(eighths / 8) || (part ? "" : "0"), part].filter(Boolean).join(" ");
}

export const show = (value, unit) => `${figure(value, unit)} ${unit}`;

export function median(values) {
  const sorted = [...values].sort((a, b) => a - b);
  const half = sorted.length >> 1;
  return sorted.length % 2 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2;
}

// What was probably meant, where it lies between the limits: tens and units exchanged, ten off, the other unit,
// the point in the wrong place. For when the network is away; otherwise the server answers, which knows more.
export function meant(value, unit, low, high) {
  const per = PER_UNIT[unit];
  const typed = value / per;
  const whole = Math.floor(typed);
  const tens = Math.floor(whole / 10) % 10;
  const ones = whole % 10;
  const other = unit === "kg" || unit === "lb" ? 1 / PER_UNIT.lb : 2.54;
  const names = { cm: ["inches", "centimetres"], in: ["inches", "centimetres"] }[unit] ?? ["pounds", "kilograms"];
  const tries = [
    [typed - 10 * tens - ones + 10 * ones + tens, "tens and units may have changed places"],
    [typed + 10, "ten may be missing"],
    [typed - 10, "ten may be too many"],
    [typed / 10, "the decimal point may have moved"],
    [typed * 10, "the decimal point may have moved"],
    [unit === "kg" ? typed / other : typed * other, `the figure may be ${names[0]}`],
    [unit === "kg" ? typed * other : typed / other, `the figure may be ${names[1]}`],
  ];
  const seen = new Set();
  return tries
    .map(([amount, why]) => ({ value: amount * per, why }))
    .filter((each) => each.value >= low && each.value <= high && Math.abs(each.value - value) > per * 0.05)
    .filter((each) => !seen.has(figure(each.value, unit)) && seen.add(figure(each.value, unit)))
    .slice(0, 2)
    .map((each) => ({
      typed: figure(each.value, unit),
      unit,
      words: `${show(each.value, unit)}? For ${show(value, unit)}, ${each.why}.`,
    }));
}
