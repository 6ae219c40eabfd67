// Is a reading to be taped again? Judged here by the limits on board, and by the server while it can be asked.

import { meant, read, show, typedIn } from "./tape.js";
import { post } from "./send.js";
import { takesOf, valueOf } from "./walk.js";

const PATIENCE = 6000;

// What a tape can read on anybody, as the server will insist: throws an Error.
export function insist(board, code, value, unit) {
  const { name, range, unit: kind } = board.measures[code];
  const slack = unit === "in" ? 1.6 : 0.05 * (kind === "kg" ? 1 : 10);
  if (value >= range[0] - slack && value <= range[1] + slack) return;
  const [tool, again] = kind === "kg" ? ["scale", "weigh"] : ["tape", "tape"];
  throw new Error(
    `${name} of ${show(value, unit)} is outside what a ${tool} can read on a person (${show(range[0], unit)} to ` +
      `${show(range[1], unit)}). Please ${again} again or check the unit.`,
  );
}

// The flag of one measure by the limits on board, or null.
export function judgeHere(board, draft, code) {
  const [low, high] = board.limits[code] ?? board.measures[code].range;
  const value = valueOf(draft, code);
  if (value >= low && value <= high) return null;
  const unit = typedIn(board.measures[code], draft.unit);
  const again = board.measures[code].unit === "kg" ? "weigh" : "tape";
  return {
    value,
    words: `Please ${again} again. Beside the other readings it would lie between ${show(low, unit)} and ${show(high, unit)}.`,
    meant: meant(value, unit, low, high),
  };
}

// Ask the server about all readings: {flags by code, limits by code}, or null where it can't be asked.
export async function judgeThere(board, draft) {
  const readings = Object.keys(draft.takes).flatMap((code) =>
    takesOf(draft, code).map((take) => ({ measure: code, typed: `${take.text} ${take.unit}` })),
  );
  if (!readings.length || !navigator.onLine) return null;
  try {
    const answer = await post(board.judge, JSON.stringify({ unit: draft.unit, readings }), {}, PATIENCE);
    if (!answer.ok) return null;
    const found = await answer.json();
    const flags = {};
    for (const flag of found.flags) {
      flags[flag.measure] = {
        value: valueOf(draft, flag.measure),
        words: flag.words,
        meant: flag.suggestions.slice(0, 2).map(({ typed, unit, words, partner }) => ({ typed, unit, words, partner })),
      };
    }
    return { flags, limits: Object.fromEntries(found.limits.map(({ measure, low, high }) => [measure, [low, high]])) };
  } catch {
    return null;
  }
}

export const asTake = ({ typed, unit }) => ({ text: typed, unit, value: read(typed, unit) });
