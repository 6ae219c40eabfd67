// The first page after signing in: what this member typed on this tablet and has not sent yet. It is sent from here.

import { byId, el, plural, put } from "./dom.js";
import { Sender } from "./send.js";
import { Store } from "./store.js";

const STATES = { open: "begun, not finished", waiting: "waits to be sent", refused: "not accepted: to be corrected" };
const place = byId("pad-waits-here");

function draw(rows) {
  place.hidden = !rows.length;
  byId("pad-waits").textContent = `${plural(rows.length, "measuring")} on this tablet`;
  put(
    byId("pad-waits-list"),
    ...rows.map((row) => {
      const address = `/clients/${row.client}/pad/?set=${row.set}&draft=${row.id}`;
      const words = `${plural(Object.keys(row.takes).length, "measure")}: ${STATES[row.state]}`;
      return el("li", { "data-state": row.state }, el("a", { href: address }, row.name), `, ${words}`);
    }),
  );
}

const store = await Store.open(place.dataset.member);
const show = async () => draw((await store.all()).filter((row) => row.state !== "open" || Object.keys(row.takes).length));
const sender = new Sender(store, place.dataset.member, (news) => {
  if (news.who === "other" || news.who === "out") place.hidden = true;
  else show();
});
await show();
if (!place.hidden) await sender.now();
