// The board: items dragged, moved by the arrows, turned; what a move breaks is said while it goes on.
import { refresh } from "./live.js";

const STEP_MM = 5;
const FINE_MM = 1;
const REST_MS = 900;
const SIZES = ["1", "2", "3", "4"];
let asking = false;
let next = null;

export function boards() {
  for (const box of document.querySelectorAll(".drawing.board:not([data-ready])")) ready(box);
}

function ready(box) {
  const part = box.closest(".live");
  part.source ??= part.outerHTML; // the same again need not come in its place
  box.dataset.ready = "1";
  box.known = JSON.parse(box.dataset.board);
  box.dataset.size = sessionStorage.getItem("board") || "1";
  for (const group of box.querySelectorAll("g.item[data-ref]")) {
    const item = box.known.items[group.dataset.ref];
    if (!item) continue;
    group.setAttribute("tabindex", "0");
    group.setAttribute("role", "button");
    group.setAttribute("aria-keyshortcuts", "ArrowLeft ArrowRight ArrowUp ArrowDown R L");
    group.at = [...item.at_mm];
    group.addEventListener("pointerdown", (event) => take(box, group, event));
    group.addEventListener("keydown", (event) => key(box, group, event));
    group.addEventListener("blur", () => save(box, group));
    group.addEventListener("click", (event) => event.preventDefault());
  }
  mark(box, JSON.parse(box.dataset.breaks));
  for (const button of box.parentElement.querySelectorAll("[data-size]")) {
    if (button.localName === "button") button.addEventListener("click", () => size(box, button.dataset.size));
  }
}

function size(box, way) {
  const at = SIZES.indexOf(box.dataset.size) + { out: -1, in: 1, fit: -SIZES.length }[way];
  box.dataset.size = SIZES[Math.min(Math.max(at, 0), SIZES.length - 1)];
  sessionStorage.setItem("board", box.dataset.size);
}

// Shape and word beside the colour: what breaks a rule has a broken outline and a sign.
function mark(box, broken) {
  for (const sign of box.querySelectorAll(".badge")) sign.remove();
  for (const group of box.querySelectorAll("g.item[data-ref]")) {
    const wrong = broken.includes(group.dataset.ref);
    group.classList.toggle("breaks", wrong);
    group.classList.toggle("chosen", group.dataset.ref === box.dataset.chosen);
    if (!wrong) { group.removeAttribute("aria-description"); continue; }
    group.setAttribute("aria-description", "breaks a rule");
    const room = group.querySelector("polygon").getBBox();
    const sign = document.createElementNS("http://www.w3.org/2000/svg", "text");
    for (const [name, value] of Object.entries({ x: room.x + 4, y: room.y + 6, "font-size": 6, "text-anchor": "middle", class: "badge" })) sign.setAttribute(name, value);
    sign.textContent = "▲";
    group.append(sign);
  }
}

const saved = (box, group) => box.known.items[group.dataset.ref].at_mm;
const isMoved = (box, group) => group.at.some((v, n) => v !== saved(box, group)[n]);

function show(box, group) {
  const shift = group.at.map((v, n) => (v - saved(box, group)[n]) / box.known.scale);
  group.setAttribute("transform", `translate(${shift[0]} ${shift[1]})`);
}

function to(box, group, x, y) {
  const item = box.known.items[group.dataset.ref];
  const most = [box.known.width_mm - item.size_mm[0], box.known.height_mm - item.size_mm[1]];
  group.at = [x, y].map((v, n) => Math.round(Math.min(Math.max(v, 0), Math.max(most[n], 0))));
  show(box, group);
  ask(box, group);
}

function take(box, group, event) {
  if (event.button) return;
  const item = box.known.items[group.dataset.ref];
  const svg = box.querySelector("svg");
  const unit = box.known.scale / svg.getScreenCTM().a;
  const [from, start] = [[event.clientX, event.clientY], [...group.at]];
  let far = false;
  group.setPointerCapture(event.pointerId);
  const move = (e) => {
    const [dx, dy] = [e.clientX - from[0], e.clientY - from[1]];
    if (!far && Math.hypot(dx, dy) < 5) return;
    far = true;
    if (item.fixed) return;
    group.classList.add("held");
    to(box, group, start[0] + dx * unit, start[1] + dy * unit);
  };
  const leave = (e) => {
    group.removeEventListener("pointermove", move);
    group.removeEventListener("pointerup", leave);
    group.removeEventListener("pointercancel", leave);
    group.classList.remove("held");
    if (e.type === "pointercancel") { group.at = start; show(box, group); ask(box, group); return; }
    if (!far) { open(box, group); return; }
    if (item.fixed) { say(`${group.dataset.ref} stays where it is. Take the tick from "Stays where it is" to move it.`); return; }
    save(box, group);
  };
  group.addEventListener("pointermove", move);
  group.addEventListener("pointerup", leave);
  group.addEventListener("pointercancel", leave);
}

function open(box, group) {
  box.dataset.chosen = group.dataset.ref;
  const url = new URL(location.href);
  url.searchParams.set("panel", box.known.panel);
  url.searchParams.set("item", group.dataset.ref);
  document.dispatchEvent(new CustomEvent("bench:open", { detail: url.href }));
}

function key(box, group, event) {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const ref = group.dataset.ref;
  const item = box.known.items[ref];
  const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
  const letter = event.key.toLowerCase();
  if (event.key === "Enter" || event.key === " ") {
    event.preventDefault();
    if (isMoved(box, group)) save(box, group); else open(box, group);
  } else if (event.key === "Escape") {
    clearTimeout(group.rest);
    group.classList.remove("held");
    group.at = [...saved(box, group)];
    show(box, group);
    ask(box, group);
  } else if (way || letter === "r" || (letter === "l" && box.known.layers)) {
    event.preventDefault();
    if (item.fixed) { say(`${ref} stays where it is. Take the tick from "Stays where it is" to move it.`); return; }
    clearTimeout(group.rest);
    if (way) {
      group.classList.add("held");
      const step = event.shiftKey ? FINE_MM : STEP_MM;
      to(box, group, group.at[0] + way[0] * step, group.at[1] + way[1] * step);
      group.rest = setTimeout(() => save(box, group), REST_MS);
    } else if (letter === "r") put(box, group, { turn: (item.turn_deg + 90) % 360 });
    else put(box, group, { layer: item.layer === 1 ? 2 : 1 });
  }
}

function save(box, group) {
  clearTimeout(group.rest);
  group.classList.remove("held");
  if (box.isConnected && isMoved(box, group)) put(box, group, {});
}

// One question at a time; the latest place is asked about next.
function ask(box, group) {
  next = [box, group];
  if (!asking) answer();
}

async function answer() {
  asking = true;
  try {
    while (next) {
      const [box, group] = next;
      next = null;
      const item = box.known.items[group.dataset.ref];
      const query = new URLSearchParams({ panel: box.known.panel, item: group.dataset.ref, x: group.at[0], y: group.at[1], turn: item.turn_deg, layer: item.layer });
      const found = await fetch(`${box.dataset.at}/try?${query}`, { headers: { accept: "application/json" } });
      if (found.ok) told(box, (await found.json()).data);
    }
  } catch {
    say("The server does not answer. The rules are those of the last place it knew.");
  } finally {
    asking = false;
  }
}

function told(box, result) {
  const count = result.broken.length;
  mark(box, [...new Set(result.broken.flatMap((b) => b.items))]);
  document.getElementById("rules-said").textContent = count ? `▲ ${count} ${count === 1 ? "rule is" : "rules are"} broken` : "Every rule is kept";
  document.getElementById("rules-list").replaceChildren(...result.broken.map((b) => {
    const line = document.createElement("li");
    line.textContent = b.text;
    return line;
  }));
  document.querySelector("#rules-cost > span").textContent = Number(result.cost.total_g.toPrecision(3));
}

async function put(box, group, more) {
  const form = new FormData();
  const ref = group.dataset.ref;
  const values = { panel: box.known.panel, item: ref, based_on: box.dataset.revision, x: group.at[0], y: group.at[1], ...more };
  for (const [name, value] of Object.entries(values)) form.set(name, value);
  if (group.sent) return; // on its way already: the page comes anew
  group.sent = true;
  const token = document.querySelector("meta[name=write-token]").content;
  try {
    const answer = await fetch(`${box.dataset.at}/move`, { method: "POST", body: form, headers: { "x-write-token": token, accept: "application/json" }, redirect: "manual" });
    if (answer.type !== "opaqueredirect" && !answer.ok) {
      const words = answer.status === 409 ? "Somebody else saved meanwhile: this is theirs. Yours is in the history." : "Not saved: the rig does not allow it.";
      say(words);
      back(box, group);
    }
    await refresh();
    await sheet(ref);
  } catch {
    say("The server does not answer. Nothing was saved.");
    back(box, group);
  }
}

// The side sheet of the item that was moved says where it lies now, unless somebody is typing there.
async function sheet(ref) {
  const now = document.getElementById("sheet");
  if (new URL(location.href).searchParams.get("item") !== ref || now.contains(document.activeElement)) return;
  const answer = await fetch(location.href, { headers: { accept: "text/html" } });
  const fresh = answer.ok && new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("sheet");
  if (!fresh) return;
  const placed = document.importNode(fresh, true);
  now.replaceWith(placed);
  window.htmx?.process(placed);
}

function back(box, group) {
  group.sent = false;
  group.at = [...saved(box, group)];
  show(box, group);
}

const say = (words) => document.dispatchEvent(new CustomEvent("bench:say", { detail: words }));
