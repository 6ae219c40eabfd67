// The pad: one client is taped, one measure after the other. Every figure is written down in the browser as soon as
// it is typed, and sent when the measuring is finished and the network is there.

import { onBoard } from "./board.js";
import { byId, button, el } from "./dom.js";
import { asTake, insist, judgeHere, judgeThere } from "./judge.js";
import { drawGuardian, drawKept, drawKeys, drawList, drawReview, drawStep, drawWaiting, notice } from "./screen.js";
import { Sender } from "./send.js";
import { Store, newKey } from "./store.js";
import { read, typedIn } from "./tape.js";
import { asSent, nextAfter, stateOf, takesOf } from "./walk.js";

const ANSWER_IN = 900; // ms for which the next measure waits for the server's judgement of the last
const BOARD = {
  "on board": "This page opens without a network too.",
  "as it was": "This page opens without a network too.",
  "not on board": "This page could not be kept for a reload without a network; what is typed is kept all the same.",
  unsafe: "Without https the page can't be opened again while the network is away; what is typed is kept all the same.",
};

class Pad {
  stage = "tape";
  code = null;
  finished = null;
  #store;
  #asked = 0;
  #saves = 0;
  #busy = false;
  #frozen = false;
  #tabs = new BroadcastChannel("pad");

  constructor(board) {
    this.board = board;
  }

  async start() {
    this.#store = await Store.open(this.board.member);
    this.sender = new Sender(this.#store, this.board.member, (news) => this.#hear(news));
    this.draft = await this.#resume();
    this.#listen();
    drawKeys(this);
    this.code = nextAfter(this.board, this.draft, null) ?? this.#walk()[0];
    this.stage = this.#lacksGuardian() ? "guardian" : "tape";
    this.draw({ quiet: true });
    byId("pad-typed").value = this.draft.typing?.code === this.code ? this.draft.typing.text : "";
    byId("pad").hidden = byId("pad-switches").hidden = false;
    this.#tabs.postMessage(this.draft.id);
    this.#bringOnBoard();
    this.#showWaiting();
    this.sender.now();
  }

  // --- what is kept ------------------------------------------------------------------------------------------------

  #new() {
    return {
      id: newKey(), client: this.board.client.id, name: this.board.client.name, set: byId("pad-set").value,
      unit: this.board.client.unit, state: "open", begun: Date.now(), over: "close_clothing", shoes: false,
      posture: "standing, relaxed", tape: "", guardian_present: "", notes: "", takes: {}, flags: {}, kept: {},
      again: [], out: [], typing: null, body: null, sentences: [],
    };
  }

  async #resume() {
    const asked = new URLSearchParams(location.search);
    const rows = (await this.#store.all()).filter((row) => row.client === this.board.client.id);
    const found =
      rows.find((row) => row.id === asked.get("draft") && row.state !== "waiting") ??
      rows.filter((row) => row.state === "open").at(-1);
    if (!found) return this.#new();
    const set = this.board.sets[asked.get("set")] ? asked.get("set") : found.set;
    const draft = { ...found, state: "open", body: null, set: this.board.sets[set] ? set : byId("pad-set").value };
    byId("pad-set").value = draft.set;
    if (found.state === "refused") {
      await this.#store.keep(draft);
      notice("refused", "stop", `Not accepted: ${found.sentences.map(({ words }) => words).join(" ")}`);
    } else if (Object.keys(draft.takes).length && Date.now() - draft.begun > 3600e3) {
      const since = new Date(draft.begun).toLocaleString("en-GB", { dateStyle: "medium", timeStyle: "short" });
      notice("resumed", "care", `This goes on with the measuring begun on ${since}. `, button("Begin anew", (e) => this.throwAway(e.target)));
    }
    return draft;
  }

  async save() {
    if (this.#frozen) return;
    const turn = (this.#saves += 1);
    byId("pad-kept").dataset.kept = "not yet";
    try {
      await this.#store.keep(structuredClone(this.draft));
      if (turn === this.#saves) byId("pad-kept").dataset.kept = "all";
      byId("pad-kept").textContent = "What is typed is kept on this tablet.";
    } catch (problem) {
      notice("store", "stop", `This browser can't keep what is typed (${problem?.name ?? "unknown"}). Finish before the page is closed.`);
    }
  }

  // --- moving ------------------------------------------------------------------------------------------------------

  #walk() {
    return this.board.sets[this.draft.set].measures;
  }

  #lacksGuardian() {
    return this.board.client.minor && !this.draft.guardian_present;
  }

  draw({ quiet = false } = {}) {
    byId("pad").dataset.stage = this.stage;
    byId("pad").dataset.flagged = "false";
    byId("pad-ask").classList.remove("strong");
    const say = { tape: drawStep, review: drawReview, kept: drawKept, guardian: drawGuardian }[this.stage](this);
    drawList(this);
    if (!quiet) byId("pad-say").textContent = say;
  }

  go(code) {
    if (this.#lacksGuardian()) return;
    if (this.stage === "kept") return;
    this.stage = "tape";
    this.code = code;
    byId("pad-typed").value = "";
    this.#wrong("");
    this.draw();
  }

  #advance() {
    const next = nextAfter(this.board, this.draft, this.code);
    this.stage = next ? "tape" : "review";
    this.code = next ?? this.code;
    this.draw();
    if (this.stage === "review") byId("pad-record")?.focus({ preventScroll: true });
    else if (document.activeElement === document.body) byId("pad-typed").focus({ preventScroll: true });
  }

  walkOn() {
    this.go(nextAfter(this.board, this.draft, this.code) ?? this.code);
  }

  begin(guardian) {
    this.draft.guardian_present = guardian;
    this.stage = "tape";
    this.save();
    this.draw();
  }

  // --- typing ------------------------------------------------------------------------------------------------------

  #typed(text) {
    byId("pad-typed").value = text;
    this.#onInput();
  }

  type(sign) {
    const text = byId("pad-typed").value;
    if (text.length < 9) this.#typed(text + sign);
  }

  typePart(part) {
    const [, whole = "", before] = /^(\d*)[.,]?\d*?(?: ?(\d\/\d))?$/.exec(byId("pad-typed").value) ?? [];
    this.#typed([whole, before === part ? "" : part].filter(Boolean).join(" "));
  }

  rubOut() {
    const text = byId("pad-typed").value;
    this.#typed(/\d\/\d$/.test(text) ? text.replace(/ ?\d\/\d$/, "") : text.slice(0, -1));
  }

  #onInput() {
    this.#wrong("");
    this.draft.typing = { code: this.code, text: byId("pad-typed").value };
    this.save();
  }

  #wrong(words) {
    byId("pad-wrong").textContent = words;
    byId("pad-wrong").hidden = !words;
    byId("pad-typed").toggleAttribute("aria-invalid", Boolean(words));
  }

  async enter() {
    if (this.#busy || this.#frozen) return;
    const text = byId("pad-typed").value.trim().replace(/[.,]$/, "");
    const { code, board, draft } = this;
    if (!text) return this.#stepOn();
    const unit = typedIn(board.measures[code], draft.unit);
    let value;
    try {
      value = read(text, unit);
      insist(board, code, value, unit);
    } catch (problem) {
      return this.#wrong(problem.message);
    }
    const state = stateOf(board, draft, code);
    if (state === "done" || takesOf(draft, code).length >= 5) this.#clear(code);
    if (!Object.keys(draft.takes).length) draft.begun = Date.now();
    draft.takes[code] = [...takesOf(draft, code), { text, unit, value }];
    draft.out = draft.out.filter((each) => each !== code);
    byId("pad-typed").value = "";
    await this.#judged(code);
  }

  // Write down, judge, and go on to what is asked next.
  async #judged(code) {
    this.#busy = true;
    const { draft } = this;
    delete draft.kept[code];
    draft.typing = null;
    const here = judgeHere(this.board, draft, code);
    if (here) draft.flags[code] = here;
    else delete draft.flags[code];
    await this.save();
    const turn = (this.#asked += 1);
    const there = judgeThere(this.board, draft).then((found) => found && turn === this.#asked && this.#take(found));
    await Promise.race([there, new Promise((late) => setTimeout(late, ANSWER_IN))]);
    this.#busy = false;
    if (this.code !== code || this.stage !== "tape") return;
    this.#advance();
  }

  // The server's judgement, in time or late: it never touches what is being typed.
  #take({ flags, limits }) {
    this.board.limits = limits;
    this.draft.flags = flags;
    this.save();
    if (this.#busy || this.stage === "kept") return;
    const asked = nextAfter(this.board, this.draft, this.code);
    if (byId("pad-typed").value || this.stage !== "tape") drawList(this);
    else if (asked && stateOf(this.board, this.draft, asked) === "flagged") this.draw();
    else drawList(this);
  }

  #stepOn() {
    const walk = this.#walk();
    const place = walk.indexOf(this.code);
    const later = [...walk.slice(place + 1), ...walk.slice(0, place)];
    const open = later.find((each) => !["done", "out"].includes(stateOf(this.board, this.draft, each)));
    if (open) this.go(open);
    else this.review();
  }

  before() {
    const place = this.#walk().indexOf(this.code);
    if (place > 0) this.go(this.#walk()[place - 1]);
  }

  leaveOut() {
    if (takesOf(this.draft, this.code).length) return this.strike(this.code);
    this.#clear(this.code);
    this.draft.out = [...new Set([...this.draft.out, this.code])];
    byId("pad-typed").value = "";
    this.#wrong("");
    this.save();
    this.#advance();
  }

  #clear(code) {
    const { draft } = this;
    delete draft.takes[code];
    delete draft.kept[code];
    delete draft.flags[code];
    draft.again = draft.again.filter((each) => each !== code);
  }

  strike(code) {
    this.#clear(code);
    this.save();
    this.go(code);
  }

  // --- flags -------------------------------------------------------------------------------------------------------

  again(code) {
    this.draft.again = [...new Set([...this.draft.again, code])];
    if (takesOf(this.draft, code).length > 1) delete this.draft.flags[code]; // asked anew with the next figure
    this.save();
    this.draw();
    byId("pad-typed").focus({ preventScroll: true });
  }

  async accept(code, meant) {
    this.#putRight(code, meant);
    // Two fields that changed places are put right together.
    if (meant.partner) this.#putRight(meant.partner.measure, meant.partner);
    await this.#judged(code);
  }

  // The suggestion in place of the taping that lies furthest from it.
  #putRight(code, meant) {
    const takes = takesOf(this.draft, code);
    const found = asTake(meant);
    const off = (take) => Math.abs(take.value - found.value);
    const wrong = [...takes].sort((a, b) => off(b) - off(a))[0];
    this.draft.takes[code] = takes.map((take) => (take === wrong ? found : take));
    delete this.draft.kept[code];
  }

  keepFlagged(code, why) {
    this.draft.kept[code] = why;
    this.save();
    this.#advance();
  }

  // --- finishing ---------------------------------------------------------------------------------------------------

  fact(name, value) {
    this.draft[name] = typeof value === "string" ? value.trim() : value;
    this.save();
  }

  review() {
    if (this.#lacksGuardian() || this.stage === "kept") return;
    this.stage = "review";
    this.draw();
  }

  async finish() {
    if (this.#frozen || this.#busy) return;
    const { draft } = this;
    this.#asked += 1; // a judgement that comes late is not the next measuring's
    draft.state = "waiting";
    draft.typing = null;
    draft.sentences = [];
    draft.body = asSent(draft, this.board.member, this.sender.ahead);
    await this.save();
    this.finished = { id: draft.id, count: Object.keys(draft.takes).length, made: null };
    this.draft = this.#new();
    this.stage = "kept";
    notice("refused");
    notice("resumed");
    this.draw();
    this.#showWaiting();
    this.sender.now();
  }

  anew() {
    this.#asked += 1;
    this.finished = null;
    this.draft = this.#new();
    this.code = this.#walk()[0];
    this.stage = this.#lacksGuardian() ? "guardian" : "tape";
    history.replaceState(null, "", `?set=${this.draft.set}`);
    this.draw();
  }

  #sure(asks) {
    if (asks.dataset.sure) return true;
    asks.dataset.sure = "1";
    asks.textContent = "Really throw away";
    asks.classList.add("danger");
    return false;
  }

  async throwAway(asks) {
    if (!this.#sure(asks)) return;
    await this.#store.drop(this.draft.id);
    notice("resumed");
    this.anew();
    this.#showWaiting();
  }

  async discard(id, asks) {
    if (!this.#sure(asks)) return;
    await this.#store.drop(id);
    this.#showWaiting();
  }

  // --- the world outside -------------------------------------------------------------------------------------------

  async #showWaiting() {
    drawWaiting(this, await this.#store.all());
  }

  #hear({ who, sent, made }) {
    if (who === "other") return this.#leave();
    if (who === "out") {
      const back = `/sign-in/?next=${encodeURIComponent(location.pathname + location.search)}`;
      notice("out", "care", "You are signed out. Nothing is lost: what you typed is kept on this tablet. ", el("a", { href: back }, "Sign in again"));
    } else if (who === "me") notice("out");
    if (who) byId("pad-kept").dataset.who = who;
    notice("away", "care", ...(who === "away" ? ["No network. Go on taping: it is kept here and sent later."] : who ? [] : this.#away()));
    if (sent && this.finished?.id === sent.id) {
      this.finished.made = made;
      if (this.stage === "kept") this.draw();
    }
    this.#showWaiting();
  }

  #away() {
    return byId("pad-notice-away") ? ["No network. Go on taping: it is kept here and sent later."] : [];
  }

  // Somebody else holds the tablet: nothing of this member's stays in sight.
  #leave() {
    this.#frozen = true;
    document.title = "Pad";
    const words = "This pad is closed, because somebody signed out or in. What was typed is kept for whoever typed it, once she is signed in again.";
    document.body.replaceChildren(
      el("main", { class: "page", id: "work" }, el("h1", {}, "Pad"), el("p", { id: "pad-left" }, words), el("p", {}, el("a", { class: "button", href: "/sign-in/" }, "Sign in"))),
    );
  }

  #bringOnBoard() {
    const figures = this.#walk().map((code) => this.board.measures[code].figure).filter(Boolean);
    onBoard(figures, (state) => {
      if (state === "left") return this.#leave();
      if (this.#frozen) return;
      byId("pad-board").textContent = BOARD[state];
      byId("pad-board").dataset.board = state;
    });
  }

  #listen() {
    byId("pad-form").addEventListener("submit", (event) => {
      event.preventDefault();
      this.enter();
    });
    byId("pad-typed").addEventListener("input", () => this.#onInput());
    byId("pad-before").addEventListener("click", () => this.before());
    byId("pad-out").addEventListener("click", () => this.leaveOut());
    byId("pad-finish").addEventListener("click", () => this.review());
    byId("pad-set").addEventListener("change", (event) => {
      this.draft.set = event.target.value;
      history.replaceState(null, "", `?set=${this.draft.set}`);
      this.save();
      this.#bringOnBoard();
      if (this.stage === "tape") this.go(nextAfter(this.board, this.draft, null) ?? this.#walk()[0]);
      else this.draw();
    });
    for (const each of document.querySelectorAll("[data-unit]")) {
      if (each.tagName === "BUTTON") each.addEventListener("click", () => this.#tapeIn(each.dataset.unit));
    }
    for (const each of document.querySelectorAll("button[data-show]")) {
      each.addEventListener("click", () => {
        byId("pad").dataset.show = each.dataset.show;
        for (const other of document.querySelectorAll("button[data-show]")) other.setAttribute("aria-pressed", String(other === each));
      });
    }
    const waiting = (open) => {
      byId("pad-waiting").hidden = !open;
      byId("pad-waiting-button").setAttribute("aria-expanded", String(open));
      byId(open ? "pad-waiting-close" : "pad-waiting-button").focus();
    };
    byId("pad-waiting-button").addEventListener("click", () => waiting(byId("pad-waiting").hidden));
    byId("pad-waiting-close").addEventListener("click", () => waiting(false));
    addEventListener("keydown", (event) => {
      const elsewhere = event.target.closest("input, textarea, select, summary");
      if (this.stage !== "tape" || elsewhere || event.ctrlKey || event.metaKey || event.altKey) return;
      if (!/^[0-9.,/]$|^Backspace$/.test(event.key)) return;
      if (byId("pad").dataset.flagged === "true") this.again(this.code); // a figure typed now is the next taping
      else byId("pad-typed").focus();
    });
    addEventListener("pageshow", (event) => event.persisted && location.reload());
    addEventListener("offline", () => this.#hear({ who: "away" }));
    this.#tabs.onmessage = ({ data }) => {
      if (data !== this.draft.id || this.#frozen) return;
      this.#frozen = true;
      byId("pad").inert = true;
      notice("tab", "care", "This measuring was opened in another window: go on there. ", button("Go on here", () => location.reload()));
    };
  }

  #tapeIn(unit) {
    this.draft.unit = unit;
    byId("pad-typed").value = "";
    this.save();
    drawKeys(this);
    this.draw({ quiet: true });
  }
}

new Pad(JSON.parse(byId("pad-data").textContent)).start();
