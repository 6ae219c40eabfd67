// A lay moved by hand: pointer or keyboard, what is wrong shown at once. What is kept is checked by the server.

import { bounds, overlap, placed } from "./touch.js";

const board = JSON.parse(document.getElementById("hand-board").textContent);
const svg = document.querySelector("#hand-figure svg");
const state = document.getElementById("hand-state");
const list = document.getElementById("hand-list");
const keep = document.getElementById("hand-keep");
const turnButton = document.getElementById("hand-turn");
const backButton = document.getElementById("hand-back");
const field = document.querySelector("#hand-form [name=placements]");
const SLACK = 0.05;
const NEAR = 6; // mm: a piece that is let go this near to an edge of the cloth snaps to it
const STEPS = { plain: 10, shift: 100, alt: 1 }; // mm for one press of an arrow key

const pieces = board.placements.map((start, place) => ({
  place,
  facts: board.pieces[start.key],
  start,
  now: { ...start },
  drawn: svg.querySelector(`[data-place="${place}"]`),
  button: null,
}));
const earlier = [];
let held = null;
let dragging = null;

const ring = (piece) => placed(piece.facts.shape, piece.now);
const round = (value) => Math.round(value * 1e4) / 1e4;
const say = (mm) => (board.unit === "in" ? `${(mm / 25.4).toFixed(1)} in` : mm < 1000 ? `${(mm / 10).toFixed(1)} cm` : `${(mm / 1000).toFixed(2)} m`);

function title(piece) {
  const alike = pieces.filter((other) => other.now.key === piece.now.key);
  const many = alike.length > 1 ? ` ${alike.indexOf(piece) + 1} of ${alike.length}` : "";
  return piece.facts.name + many;
}

// The drawing has y down and shows the piece as it lay at the start; the move brings it to where it lies now.
function draw(piece) {
  const { start, now } = piece;
  const turned = now.turn - start.turn;
  const flip = lowerEdge();
  const angle = -turned;
  const parts = [`translate(${round(now.x)} ${round(flip - now.y)})`];
  if (turned) parts.push(`rotate(${round(angle)})`);
  parts.push(`translate(${round(-start.x)} ${round(start.y - flip)})`);
  piece.drawn.setAttribute("transform", parts.join(" "));
}

// Where y = 0 of the cloth lies in the drawing: the lower edge of the cloth's rectangle.
function lowerEdge() {
  const cloth = svg.querySelector("rect");
  return Number(cloth.getAttribute("y")) + Number(cloth.getAttribute("height"));
}

function wrongs() {
  const rings = pieces.map(ring), boxes = rings.map(bounds), found = new Map();
  const add = (piece, words) => found.set(piece, [...(found.get(piece) || []), words]);
  pieces.forEach((piece, i) => {
    const box = boxes[i];
    const over = Math.max(-box.low, box.high - board.width);
    if (over > SLACK) add(piece, `${title(piece)} reaches ${say(over)} over the usable width.`);
    if (-box.left > SLACK) add(piece, `${title(piece)} reaches over the beginning of the cloth.`);
    if (board.most !== null && box.right - board.most > SLACK) add(piece, `${title(piece)} reaches over the end of the remnant.`);
    if (piece.facts.onFold && Math.abs(piece.now.y - piece.start.y) > SLACK) add(piece, `${title(piece)} has left the fold.`);
    for (let j = 0; j < i; j++) {
      if (overlap(rings[i], rings[j])) {
        const words = `${title(pieces[j])} and ${title(piece)} overlap.`;
        add(piece, words);
        add(pieces[j], words);
      }
    }
  });
  return { found, length: Math.max(...boxes.map((box) => box.right)) };
}

function look() {
  const { found, length } = wrongs();
  const moved = pieces.some((piece) => ["x", "y", "turn"].some((key) => Math.abs(piece.now[key] - piece.start[key]) > 1e-9));
  for (const piece of pieces) {
    const bad = found.has(piece);
    piece.drawn.classList.toggle("wrong", bad);
    piece.drawn.classList.toggle("held", piece === held);
    piece.button.classList.toggle("wrong", bad);
    piece.button.setAttribute("aria-pressed", String(piece === held));
    piece.button.textContent = bad ? `${title(piece)}: wrong` : title(piece);
  }
  const words = [...new Set([...found.values()].flat())];
  state.classList.toggle("bad", words.length > 0);
  state.textContent = words.length
    ? words.slice(0, 2).join(" ") + (words.length > 2 ? ` And ${words.length - 2} more.` : "")
    : `${say(length)} long, every rule is kept${held ? `; ${title(held)} is in hand` : ""}.`;
  keep.disabled = words.length > 0 || !moved;
  backButton.disabled = earlier.length === 0;
  turnButton.disabled = !held || held.facts.turns.length < 2;
  turnButton.title = held && held.facts.turns.length < 2 ? board.why : "";
}

function hold(piece) {
  held = piece;
  look();
}

function remember(piece) {
  earlier.push({ piece, before: { ...piece.now } });
  if (earlier.length > 200) earlier.shift();
}

// A turn about the middle of the piece; the server knows turns about the origin, so the place follows.
function turn(piece) {
  const { turns } = piece.facts;
  if (turns.length < 2) {
    state.textContent = `${title(piece)} stays this way up. ${board.why}`;
    return;
  }
  remember(piece);
  const before = bounds(ring(piece));
  const at = turns.findIndex((one) => Math.abs(one - piece.now.turn) < 1e-6);
  piece.now.turn = turns[(at + 1) % turns.length];
  const after = bounds(ring(piece));
  piece.now.x += (before.left + before.right - after.left - after.right) / 2;
  piece.now.y += (before.low + before.high - after.low - after.high) / 2;
  snap(piece);
  draw(piece);
  look();
}

function shift(piece, dx, dy) {
  piece.now.x += dx;
  if (!piece.facts.onFold) piece.now.y += dy;
}

function snap(piece) {
  const box = bounds(ring(piece));
  if (Math.abs(box.left) < NEAR) piece.now.x -= box.left;
  if (piece.facts.onFold) return;
  if (Math.abs(box.low) < NEAR) piece.now.y -= box.low;
  else if (Math.abs(box.high - board.width) < NEAR) piece.now.y += board.width - box.high;
}

function atPointer(event) {
  const dot = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
  return { x: dot.x, y: -dot.y };
}

for (const piece of pieces) {
  piece.button = document.createElement("button");
  piece.button.type = "button";
  piece.button.addEventListener("click", () => {
    hold(piece);
    piece.drawn.focus();
  });
  const item = document.createElement("li");
  item.append(piece.button);
  list.append(item);
  piece.drawn.setAttribute("tabindex", "0");
  piece.drawn.setAttribute("role", "img");
  piece.drawn.setAttribute("aria-label", title(piece));
  piece.drawn.addEventListener("focus", () => hold(piece));
  piece.drawn.addEventListener("pointerdown", (event) => {
    event.preventDefault();
    piece.drawn.focus();
    piece.drawn.setPointerCapture(event.pointerId);
    remember(piece);
    dragging = { piece, from: atPointer(event), start: { ...piece.now } };
  });
  piece.drawn.addEventListener("pointermove", (event) => {
    if (!dragging || dragging.piece !== piece) return;
    const to = atPointer(event);
    piece.now = { ...dragging.start };
    shift(piece, to.x - dragging.from.x, to.y - dragging.from.y);
    draw(piece);
    look();
  });
  const drop = () => {
    if (!dragging || dragging.piece !== piece) return;
    dragging = null;
    snap(piece);
    draw(piece);
    look();
  };
  piece.drawn.addEventListener("pointerup", drop);
  piece.drawn.addEventListener("pointercancel", drop);
  piece.drawn.addEventListener("keydown", (event) => {
    const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    if (ways[event.key]) {
      event.preventDefault();
      const step = event.shiftKey ? STEPS.shift : event.altKey ? STEPS.alt : STEPS.plain;
      remember(piece);
      shift(piece, ways[event.key][0] * step, ways[event.key][1] * step);
      draw(piece);
      look();
    } else if (event.key === "r" || event.key === "R") {
      event.preventDefault();
      turn(piece);
    }
  });
}

turnButton.addEventListener("click", () => held && turn(held));
backButton.addEventListener("click", () => {
  const last = earlier.pop();
  if (!last) return;
  last.piece.now = last.before;
  draw(last.piece);
  look();
});
document.getElementById("hand-form").addEventListener("submit", () => {
  field.value = JSON.stringify(pieces.map(({ now }) => ({ ...now, x: round(now.x), y: round(now.y) })));
});
look();
