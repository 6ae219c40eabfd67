// Sending what waits, in the order in which it was taken, until the server has said that it has it.
// A measuring is dropped from the tablet only on that word. Its text is frozen when it is finished, so that the
// server recognises it by its key when an answer was lost on the way.

const FIRST_WAIT = 2000;
const LONGEST_WAIT = 60000;
const PATIENCE = 20000;

const csrf = () => /(?:^|; )(?:__Host-)?csrftoken=([^;]+)/.exec(document.cookie)?.[1] ?? "";

export function post(url, body, headers = {}, patience = PATIENCE) {
  return fetch(url, {
    method: "POST",
    credentials: "same-origin",
    headers: { "Content-Type": "application/json", "X-CSRFToken": csrf(), ...headers },
    body,
    signal: AbortSignal.timeout(patience),
  });
}

// Who is signed in on this tablet: "me", "other", "out", or "away" where the network is.
export async function whoIsIn(member) {
  try {
    const answer = await fetch("/api/v1/me/", { cache: "no-store", signal: AbortSignal.timeout(PATIENCE) });
    if (answer.status === 401 || answer.status === 403) return { who: "out" };
    if (!answer.ok) return { who: "away" };
    const ahead = Date.now() - Date.parse(answer.headers.get("Date"));
    return { who: (await answer.json()).member === member ? "me" : "other", ahead };
  } catch {
    return { who: "away" };
  }
}

export class Sender {
  #store;
  #member;
  #tell;
  #timer = 0;
  #running = null;
  #again = false;
  #misses = 0;
  ahead = 0; // how many ms this tablet's clock is ahead of the server's

  // `tell` is called with {who} when that is known anew, {sent, location} and {changed: true}.
  constructor(store, member, tell) {
    this.#store = store;
    this.#member = member;
    this.#tell = tell;
    addEventListener("online", () => this.now());
    document.addEventListener("visibilitychange", () => document.hidden || this.now());
  }

  // Try at once, whatever was waited for.
  now() {
    this.#misses = 0;
    this.#again = true;
    this.#running ??= this.#run().finally(() => {
      this.#running = null;
    });
    return this.#running;
  }

  async #run() {
    while (this.#again) {
      this.#again = false;
      clearTimeout(this.#timer);
      const waiting = (await this.#store.all()).filter((each) => each.state === "waiting");
      const { who, ahead } = await whoIsIn(this.#member);
      if (Number.isFinite(ahead)) this.ahead = ahead;
      this.#tell({ who });
      if (!waiting.length) continue;
      let wait = who === "me" ? 0 : this.#backoff();
      for (const each of who === "me" ? waiting : []) {
        wait = await this.#send(each);
        if (wait) break;
      }
      if (wait) this.#later(wait);
    }
  }

  #backoff() {
    this.#misses += 1;
    return Math.min(LONGEST_WAIT, FIRST_WAIT * 2 ** (this.#misses - 1)) * (1 + Math.random() / 4);
  }

  #later(wait) {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => {
      this.#again = true;
      this.#running ??= this.#run().finally(() => {
        this.#running = null;
      });
    }, wait);
  }

  // Gives 0 where the next one can be sent, else for how many ms to wait.
  async #send(each) {
    let answer;
    try {
      answer = await post("/api/v1/measurings/", each.body, { "Idempotency-Key": each.id });
    } catch {
      this.#tell({ who: "away" });
      return this.#backoff();
    }
    if (answer.ok) {
      const made = await answer.json().catch(() => ({}));
      await this.#store.drop(each.id);
      this.#misses = 0;
      this.#tell({ sent: each, made: made.id ?? null });
      return 0;
    }
    if (answer.status === 429) return 1000 * (Number(answer.headers.get("Retry-After")) || 30);
    if (answer.status >= 500 || answer.status === 408) return this.#backoff();
    if ([401, 403, 409].includes(answer.status)) {
      const { who } = await whoIsIn(this.#member);
      this.#tell({ who });
      if (who !== "me") return this.#backoff();
      // Signed in, and yet refused for want of a token: the cookie is renewed by the next page that is opened.
      if (answer.status !== 409 && !(await answer.clone().text()).includes("not-allowed")) {
        this.#tell({ who: "out" });
        return this.#backoff();
      }
    }
    const problem = await answer.json().catch(() => ({}));
    const kept = JSON.parse(each.body).readings;
    const sentences = (problem.errors ?? []).map(({ field, reason }) => {
      const place = /^readings\.(\d+)\./.exec(field);
      return { words: reason, code: place ? (kept[Number(place[1])]?.measure ?? null) : null };
    });
    if (!sentences.length) sentences.push({ words: problem.detail ?? `The server answered ${answer.status}.`, code: null });
    await this.#store.change(each.id, (row) => ({ ...row, state: "refused", sentences }));
    this.#tell({ changed: true });
    return 0;
  }
}
