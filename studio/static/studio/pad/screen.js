// What stands on the pad. `pad` is the page's state and its acts (pad.js); nothing is kept here.

import { button, byId, el, plural, put } from "./dom.js";
import { EIGHTHS, nameOf, show, typedIn } from "./tape.js";
import { allowed, isFlagged, isTwice, stateOf, takesOf, turnOf, valueOf } from "./walk.js";

const GLYPHS = { "1/8": "⅛", "1/4": "¼", "3/8": "⅜", "1/2": "½", "5/8": "⅝", "3/4": "¾", "7/8": "⅞" };
const OVER = { underwear: "Underwear", close_clothing: "Close clothing", clothing: "Ordinary clothing" };
const REASONS = ["Taped twice, it stands", "Taped at another landmark", "Taped over thicker clothing"];

const written = (take) => `${take.text} ${take.unit}`;
const why = (words) => words.replace(/^[^?]*\? /, "").replace(/ Please [a-z]+ again\.$/, "");
const moment = (time) =>
  new Date(time).toLocaleString("en-GB", { day: "numeric", month: "long", hour: "2-digit", minute: "2-digit" });

export function drawKeys(pad) {
  const key = (label, act, name = label) => button(label, act, { "aria-label": name, onpointerdown: (e) => e.preventDefault() });
  const keys = ["1", "2", "3", "4", "5", "6", "7", "8", "9", ".", "0"].map((sign) =>
    key(sign, () => pad.type(sign), sign === "." ? "point" : sign),
  );
  keys.push(key("⌫", () => pad.rubOut(), "rub out the last sign"));
  const eighths =
    pad.draft.unit === "in" &&
    el(
      "div",
      { class: "eighths", role: "group", "aria-label": "Parts of an inch" },
      ...EIGHTHS.map((part) => key(GLYPHS[part], () => pad.typePart(part), `${part} inch`)),
    );
  put(byId("pad-keys"), ...keys, eighths);
  for (const each of document.querySelectorAll("[data-unit]")) {
    each.setAttribute("aria-pressed", String(each.dataset.unit === pad.draft.unit));
  }
}

function asked(pad, code) {
  const { draft, board } = pad;
  const takes = takesOf(draft, code);
  const unit = typedIn(board.measures[code], draft.unit);
  switch (stateOf(board, draft, code)) {
    case "first":
      return ["Second taping. The first is hidden until this one is in.", true];
    case "again":
      return ["Tape again. The first is hidden until this one is in.", true];
    case "third": {
      const apart = Math.abs(takes[0].value - takes[1].value);
      const words = `${takes.map(written).join(" and ")} are ${show(apart, unit)} apart; the tape explains `;
      return [`Tape a third time: ${words}${show(allowed(board, code), unit)}.`, true];
    }
    case "flagged":
      return [`${takes.map(written).join(", ")} was typed.`, false];
    case "out":
      return ["Not taken. A figure takes it after all.", false];
    case "done":
      return [`Taken: ${takes.map(written).join(", ")}. A new figure replaces it.`, false];
    default:
      return [isTwice(board, draft, code) ? "First taping. The second comes after the walk." : "", false];
  }
}

export function drawStep(pad) {
  const { board, draft, code } = pad;
  const measure = board.measures[code];
  const { measures, name } = board.sets[draft.set];
  const unit = typedIn(measure, draft.unit);
  const left = measures.filter((each) => stateOf(board, draft, each) === "first").length;
  const second = stateOf(board, draft, code) === "first";
  const [words, strong] = asked(pad, code);
  byId("pad-place").textContent = second
    ? `Once more round: ${plural(left, "measure")} to tape a second time`
    : `${measures.indexOf(code) + 1} of ${measures.length}, ${name}`;
  byId("pad-name").textContent = measure.name;
  byId("pad-ask").textContent = words;
  byId("pad-ask").classList.toggle("strong", strong);
  byId("pad-how").textContent = measure.how;
  byId("pad-how-box").classList.toggle("plain", !measure.figure);
  byId("pad-figure-box").hidden = !measure.figure;
  if (measure.figure) {
    byId("pad-figure").src = measure.figure;
    byId("pad-figure").alt = `Where the tape goes: ${measure.name}`;
  }
  byId("pad-typed-label").textContent = `${measure.name}, taping ${turnOf(draft, code)}, in ${nameOf(unit)}`;
  byId("pad-unit").textContent = unit;
  byId("pad-out").textContent = takesOf(draft, code).length ? "Strike out" : "Not taken";
  byId("pad-before").disabled = measures.indexOf(code) === 0;
  put(byId("pad-question"), question(pad));
  return `${measure.name}, in ${nameOf(unit)}. ${words}`;
}

function question(pad) {
  const { board, draft, code } = pad;
  const takes = takesOf(draft, code);
  const flagged = stateOf(board, draft, code) === "flagged";
  byId("pad").dataset.flagged = String(flagged);
  if (!flagged) return null;
  const { words, meant } = draft.flags[code];
  const reason = el("input", { id: "pad-reason", maxlength: 200, "aria-label": "Why it is kept" });
  const keep = (word) => (word.trim() ? pad.keepFlagged(code, word.trim()) : reason.focus());
  return el(
    "div",
    { class: "pad-question", id: "pad-flag", "data-code": code },
    el("p", { class: "head" }, `${board.measures[code].name}: ${words.split(". ")[0].toLowerCase()}`),
    el("p", {}, words.split(". ").slice(1).join(". ")),
    ...meant.map((each) =>
      el(
        "button",
        { type: "button", class: "meant", onclick: () => pad.accept(code, each) },
        el("strong", {}, `${each.typed} ${each.unit}`),
        el("span", {}, why(each.words)),
      ),
    ),
    el(
      "div",
      { class: "pad-answers" },
      button(takes.length < 5 ? "Tape again" : "Strike it out, tape anew", () => (takes.length < 5 ? pad.again(code) : pad.strike(code)), { class: "main" }),
      takes.length < 5 && button("Strike it out, tape anew", () => pad.strike(code)),
    ),
    el(
      "details",
      {},
      el("summary", {}, "Keep it as it is"),
      el(
        "div",
        { class: "pad-answers" },
        ...REASONS.map((word) => button(word, () => keep(word))),
        reason,
        button("Keep it", () => keep(reason.value)),
      ),
    ),
  );
}

const MARKS = { open: ["–", "quiet"], out: ["not taken", "quiet"], first: ["first in", "quiet"], again: ["again", "flagged"] };

export function drawList(pad) {
  const { board, draft } = pad;
  const rows = board.sets[draft.set].measures.map((code) => {
    const state = stateOf(board, draft, code);
    const takes = takesOf(draft, code);
    const seen = takes.length > 1 ? show(valueOf(draft, code), takes[0].unit) : "";
    const [words, kind] = MARKS[state] ?? [
      (state === "flagged" ? "please tape again" : state === "third" ? "a third time" : seen || written(takes[0])) +
        (state === "done" && takes.length > 1 ? `, of ${takes.length}` : ""),
      state === "done" ? "value" : state,
    ];
    return el(
      "li",
      {},
      el(
        "button",
        { type: "button", "data-code": code, "data-state": state, onclick: () => pad.go(code), "aria-current": pad.stage === "tape" && code === pad.code ? "step" : null },
        el("span", {}, board.measures[code].name, isTwice(board, draft, code) ? el("span", { class: "unit" }, "twice") : ""),
        el("span", { class: kind }, words),
      ),
    );
  });
  put(byId("pad-rows"), ...rows);
}

export function drawGuardian(pad) {
  const { guardian, name } = pad.board.client;
  byId("pad-place").textContent = "Before the first tape";
  byId("pad-name").textContent = "Who is in the room?";
  byId("pad-ask").textContent = `${name} is under 18: a guardian stays while the tape is used.`;
  const field = el("input", { id: "pad-guardian", maxlength: 160, "aria-label": "Guardian who is present" });
  const begin = (who) => (who.trim() ? pad.begin(who.trim()) : field.focus());
  put(
    byId("pad-question"),
    el(
      "div",
      { class: "pad-question calm" },
      el("p", { class: "head" }, "Guardian present"),
      guardian && button(`${guardian} is here`, () => begin(guardian), { class: "main" }),
      el("div", { class: "pad-answers" }, field, button("Begin", () => begin(field.value))),
    ),
  );
  return byId("pad-ask").textContent;
}

export function drawReview(pad) {
  const { board, draft } = pad;
  const taken = Object.keys(draft.takes).filter((code) => takesOf(draft, code).length);
  const open = (states) =>
    board.sets[draft.set].measures.filter((code) => states.includes(stateOf(board, draft, code)));
  const flagged = taken.filter((code) => board.measures[code] && isFlagged(draft, code));
  const lacking = open(["open"]);
  const once = open(["first", "third"]);
  byId("pad-place").textContent = board.sets[draft.set].name;
  byId("pad-name").textContent = "Look it over";
  byId("pad-ask").textContent = taken.length ? `${plural(taken.length, "measure")} taken.` : "Nothing is taken yet.";
  const says = (codes, words) =>
    codes.length > 0 &&
    el(
      "div",
      { class: "pad-answers" },
      el("p", {}, words),
      ...codes.map((code) => button(board.measures[code].name, () => pad.go(code))),
    );
  const pick = (value) =>
    el("label", {}, el("input", { type: "radio", name: "over", value, checked: draft.over === value, onchange: () => pad.fact("over", value) }), OVER[value]);
  const line = (name, label) =>
    el(
      "div",
      { class: "form-row" },
      el("label", { for: `pad-${name}` }, label),
      el("input", { id: `pad-${name}`, value: draft[name], maxlength: name === "guardian_present" ? 160 : name === "notes" ? 2000 : 80, onchange: (e) => pad.fact(name, e.target.value) }),
    );
  put(
    byId("pad-question"),
    el(
      "div",
      { class: "pad-question calm pad-review" },
      says(flagged, "To be taped again, or kept with a word why:"),
      says(once, "Not settled by a further taping yet:"),
      says(lacking, "Not taken:"),
      el("fieldset", { class: "pick" }, el("legend", {}, "Over"), el("div", {}, ...Object.keys(OVER).map(pick))),
      el("fieldset", { class: "pick" }, el("legend", { class: "unseen" }, "Shoes"), el("label", {}, el("input", { type: "checkbox", checked: draft.shoes, onchange: (e) => pad.fact("shoes", e.target.checked) }), "In shoes")),
      line("posture", "Posture"),
      line("tape", "Which tape (optional)"),
      board.client.minor && line("guardian_present", "Guardian present"),
      line("notes", "Notes (optional)"),
      el(
        "div",
        { class: "pad-moves" },
        button("To the walk", () => pad.walkOn()),
        button("Throw away", (event) => pad.throwAway(event.target), { disabled: !taken.length }),
        button(flagged.length ? "Answer the flag first" : "Record", () => (flagged.length ? pad.go(flagged[0]) : pad.finish()), { class: "main", id: "pad-record", disabled: !taken.length }),
      ),
    ),
  );
  return `Look it over. ${byId("pad-ask").textContent}`;
}

export function drawKept(pad) {
  const { finished } = pad;
  const words = plural(finished.count, "measure");
  byId("pad-place").textContent = "";
  byId("pad-name").textContent = finished.made ? "Recorded" : "Kept on this tablet";
  byId("pad-ask").textContent = finished.made
    ? `${words} of ${pad.board.client.name} ${finished.count === 1 ? "is" : "are"} in the studio's record.`
    : `${words} of ${pad.board.client.name} ${finished.count === 1 ? "waits" : "wait"} to be sent. It happens by itself.`;
  put(
    byId("pad-question"),
    el(
      "div",
      { class: "pad-answers" },
      finished.made && el("a", { class: "button main", href: `/measurings/${finished.made}/` }, "Look at the measuring"),
      button("Measure again", () => pad.anew()),
    ),
  );
  return `${byId("pad-name").textContent}. ${byId("pad-ask").textContent}`;
}

export function drawWaiting(pad, rows) {
  const waits = rows.filter((row) => row.state !== "open");
  const some = byId("pad-waiting-button");
  some.textContent = waits.length ? `${plural(waits.length, "measuring")} ${waits.length === 1 ? "waits" : "wait"} to be sent` : "Nothing waits";
  some.classList.toggle("some", waits.length > 0);
  some.dataset.waiting = waits.length;
  const others = rows.filter(
    (row) => row.id !== pad.draft?.id && (row.state !== "open" || Object.keys(row.takes).length > 0),
  );
  put(byId("pad-waiting-list"), ...(others.length ? others.map((row) => waitingRow(pad, row)) : [el("li", {}, "Everything is sent.")]));
}

function waitingRow(pad, row) {
  const count = Object.keys(row.takes).length;
  const state = { open: "begun, not finished", waiting: "waits to be sent", refused: "not accepted: to be corrected" }[row.state];
  return el(
    "li",
    { "data-state": row.state },
    el("p", {}, el("strong", {}, row.name), `, ${moment(row.begun)}, ${plural(count, "measure")}: ${state}`),
    ...(row.state === "refused" ? row.sentences : []).map(({ words }) => el("p", { class: "error" }, words)),
    el(
      "div",
      { class: "pad-answers" },
      row.state === "waiting" && button("Send now", () => pad.sender.now()),
      row.state === "refused" && el("a", { class: "button", href: `/clients/${row.client}/pad/?set=${row.set}&draft=${row.id}` }, "Correct it"),
      row.state === "open" && el("a", { class: "button", href: `/clients/${row.client}/pad/?set=${row.set}&draft=${row.id}` }, "Go on"),
      row.state !== "waiting" && button("Throw away", (event) => pad.discard(row.id, event.target)),
    ),
  );
}

export function notice(name, kind, ...words) {
  byId(`pad-notice-${name}`)?.remove();
  if (words.length) byId("pad-notices").append(el("div", { class: `flash ${kind}`, id: `pad-notice-${name}` }, el("p", {}, ...words)));
}
