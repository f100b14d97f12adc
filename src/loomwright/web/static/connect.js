// Draws a wire on the diagram from terminal to terminal: press one and then another, or drag, or use the keys.
// What is being drawn stands in the side sheet and in the address; this only shows it, and fills the sheet in.
import { reveal } from "./sight.js";

const SVG = "http://www.w3.org/2000/svg";
const DRAG_PX = 8;
const NEAR_PX = 28;
const EDGE_PX = 36;
let held = null; // a press on a terminal that may become a drag
let begun = ""; // where a wire begins whose sheet has not come yet
let wanted = ""; // and where it ends
let dragged = false;
let back = null; // what had the focus before a wire was begun

// The terminal of a joint (wire@item.terminal) or of a free end (item.terminal).
export function terminalOf(group) {
  return group.classList.contains("joint") ? jointOf(group)[1] : group.dataset.ref;
}

// The wire and the terminal of a joint. Ids may hold an @ themselves: the wire is one that is drawn.
export function jointOf(group) {
  const ref = group.dataset.ref;
  const parts = [...ref.matchAll("@")].map((m) => [ref.slice(0, m.index), ref.slice(m.index + 1)]);
  const drawn = ([wire]) => group.closest("svg").querySelector(`g.wire[data-ref="${CSS.escape(wire)}"]`);
  return parts.find(drawn) || parts[0] || ["", ref];
}

// What the sheet says is being drawn: from where, what fits, and where to.
function now() {
  const form = document.querySelector("#sheet [data-from]");
  if (!form) return null;
  const select = form.querySelector("select[name=to]");
  const options = select ? [...select.options].filter((o) => o.value) : [];
  return { form, select, from: form.dataset.from, fits: new Map(options.map((o) => [o.value, o])), to: select ? select.value : "" };
}

// True while a wire is being drawn from a terminal of this diagram.
export function inHand() {
  return Boolean(drawing() && now()?.fits.size);
}

// True where the focus belongs on the diagram and not in the sheet that has just come.
export function keepsFocus() {
  if (inHand()) return true;
  const place = back;
  back = null;
  place?.focus({ preventScroll: true });
  return Boolean(place);
}

const drawing = () => document.querySelector('#diagram .drawing[data-opens="draw"]');
const ends = (box) => [...box.querySelectorAll("g.joint, g.terminal")];
const say = (words) => document.dispatchEvent(new CustomEvent("bench:say", { detail: words }));
const link = (query) => {
  const view = document.querySelector("a[data-view][aria-current]")?.dataset.view;
  const all = [query, view ? `view=${view}` : ""].filter(Boolean).join("&");
  document.dispatchEvent(new CustomEvent("bench:open", { detail: `${location.pathname}${all ? `?${all}` : ""}` }));
};

// Lights up what fits, dims the rest, and says in words what is being drawn.
export function light() {
  const box = drawing();
  if (!box) return;
  const at = now();
  const busy = Boolean(at && at.fits.size);
  if (at) begun = "";
  box.toggleAttribute("data-drawing", busy);
  const seen = new Set();
  for (const group of ends(box)) {
    const ref = terminalOf(group);
    const part = !busy ? "" : ref === at.from ? "from" : ref === at.to ? "to" : at.fits.has(ref) ? "fit" : "none";
    if (part) group.dataset.draws = part; else delete group.dataset.draws;
    group.setAttribute("tabindex", part && part !== "none" && !seen.has(ref) ? "0" : "-1");
    seen.add(ref);
  }
  for (const group of box.querySelectorAll("g.item, g.wire")) group.setAttribute("tabindex", busy ? "-1" : "0");
  if (!(held && dragged)) rubber(box, busy && at.to ? centre(box, at.to) : null, at?.from);  // else it follows the hand
  banner(busy ? at : null, seen);
  if (busy && box.from !== at.from) reveal(box);
  box.from = busy ? at.from : "";
  if (busy && wanted) { const ref = wanted; wanted = ""; pick(ref); }
}

// Says what is being drawn, in a place that is read aloud, with the way out beside it.
function banner(at, shown) {
  const place = document.getElementById("drawing-now");
  const [line, out] = place.children;
  const words = at ? sentence(at, shown) : "";
  out.hidden = !at;
  if (line.textContent !== words) line.textContent = words;
}

function sentence(at, shown) {
  if (at.to) return `A ${at.fits.get(at.to).dataset.kind} wire from ${at.from} to ${at.to}. Press Draw it.`;
  const here = [...at.fits.keys()].filter((ref) => shown.has(ref)).length;
  const rest = at.fits.size - here;
  const other = rest ? ` ${rest} more ${rest === 1 ? "fits" : "fit"} on the other view.` : "";
  return `A wire from ${at.from}: ${here} ${here === 1 ? "terminal fits" : "terminals fit"}. Press where it ends.${other}`;
}

// A terminal was pressed: the wire begins there, or ends there.
export function pick(ref) {
  const at = now();
  if (!at || !at.fits.size) { if (begun && begun !== ref) wanted = ref; else begin(ref); return; }
  if (ref === at.from) { cancel(); return; }
  if (!at.fits.has(ref)) { say(`${ref} does not fit ${at.from}. Press one that is lit, or Cancel.`); return; }
  at.select.value = ref;
  at.select.dispatchEvent(new Event("change", { bubbles: true }));
  const main = at.form.querySelector("button.main");
  main.focus({ preventScroll: true });
  if (matchMedia("(max-width: 999px)").matches) main.scrollIntoView({ block: "center" });
}

function begin(ref) {
  begun = ref;
  wanted = "";
  link(`start=${encodeURIComponent(ref)}`);
}

document.addEventListener("htmx:sendError", () => { begun = ""; wanted = ""; });

function cancel() {
  const at = now();
  if (!at) return;
  const box = drawing();
  back = box ? ends(box).find((g) => terminalOf(g) === at.from) : null;
  wanted = "";
  link("");
  say("Nothing drawn.");
}

// The end was chosen, on the diagram or in the list: its usual size goes with it until somebody chooses another.
document.addEventListener("change", (event) => {
  const at = now();
  if (!at || !at.form.contains(event.target)) return;
  if (event.target.name === "size") at.form.dataset.sized = "1";
  if (event.target.name !== "to") return;
  const size = at.form.elements.size;
  if (at.to && !at.form.dataset.sized) size.value = at.fits.get(at.to).dataset.size;
  const url = new URL(location.href);
  url.searchParams.set("to", at.to);
  history.replaceState({}, "", url);
  light();
});

document.addEventListener("keydown", (event) => { if (event.key === "Escape" && inHand()) { event.preventDefault(); cancel(); } });
document.addEventListener("click", (event) => { if (event.target.closest("[data-cancel]")) cancel(); });

// By mouse and finger.
export function connect(box) {
  box.addEventListener("pointerdown", (event) => {
    dragged = false;
    const group = event.button === 0 && event.target.closest(".ring, .hit")?.closest("g.joint, g.terminal");
    held = group ? { box, ref: terminalOf(group), x: event.clientX, y: event.clientY, id: event.pointerId } : null;
  });
  box.addEventListener("touchmove", (event) => { if (held) event.preventDefault(); }, { passive: false }); // no scrolling
  box.addEventListener("click", (event) => {
    if (dragged) { event.stopPropagation(); event.preventDefault(); return; }
    if (!inHand() || event.target.closest("g.joint, g.terminal")) return;
    const ref = nearest(box, event.clientX, event.clientY) || only(event.target.closest("g.item")?.dataset.ref);
    if (ref) pick(ref);
  }, true);
}

document.addEventListener("pointermove", (event) => {
  if (!held || event.pointerId !== held.id) return;
  if (!dragged) {
    if (Math.hypot(event.clientX - held.x, event.clientY - held.y) < DRAG_PX) return;
    dragged = true;
    held.box.setPointerCapture(event.pointerId);
    if (now()?.from !== held.ref) begin(held.ref);
  }
  const room = held.box.getBoundingClientRect();
  const push = (at, low, high) => (at < low + EDGE_PX ? -12 : at > high - EDGE_PX ? 12 : 0);
  held.box.scrollBy(push(event.clientX, room.left, room.right), push(event.clientY, room.top, room.bottom));
  rubber(held.box, [event.clientX, event.clientY], held.ref);
});

document.addEventListener("pointerup", (event) => {
  if (!held || event.pointerId !== held.id) return;
  const { box, ref } = held;
  held = null;
  if (!dragged) return;
  setTimeout(() => { dragged = false; });
  const end = nearest(box, event.clientX, event.clientY, ref);
  rubber(box, null);
  if (!end) return;
  if (now()?.from === ref) pick(end); else wanted = end;
});
document.addEventListener("pointercancel", () => { if (held) rubber(held.box, null); held = null; dragged = false; });

// The terminal nearest to a place on the screen; of those that fit, where that is known already.
function nearest(box, x, y, from = now()?.from) {
  const at = now();
  const known = at && at.from === from && at.fits.size;
  let best = ["", NEAR_PX];
  for (const group of ends(box)) {
    const ref = terminalOf(group);
    if (ref === from || (known && !at.fits.has(ref))) continue;
    const [cx, cy] = middle(group);
    const far = Math.hypot(cx - x, cy - y);
    if (far < best[1]) best = [ref, far];
  }
  return best[0];
}

// The one terminal of an item that fits; where there are several, says so.
function only(item) {
  const fits = [...(now()?.fits.keys() || [])].filter((ref) => item && ref.startsWith(`${item}.`));
  if (item && fits.length !== 1) say(fits.length ? `${fits.length} terminals of ${item} fit: press one.` : `Nothing of ${item} fits.`);
  return fits.length === 1 ? fits[0] : "";
}

function middle(group) {
  const at = group.querySelector(".ring").getBoundingClientRect();
  return [at.left + at.width / 2, at.top + at.height / 2];
}

function centre(box, ref) {
  const group = ends(box).find((g) => terminalOf(g) === ref);
  return group ? middle(group) : null;
}

// The line that follows the hand; taken away where there is no place to draw it to.
function rubber(box, to, from) {
  const picture = box.querySelector("svg");
  let line = picture?.querySelector(".rubber");
  const start = to && from && centre(box, from);
  if (!start) { line?.remove(); return; }
  if (!line) {
    line = document.createElementNS(SVG, "line");
    line.setAttribute("class", "rubber");
    picture.append(line);
  }
  const inside = picture.getScreenCTM().inverse();
  [[start, "1"], [to, "2"]].forEach(([[x, y], n]) => {
    const at = new DOMPoint(x, y).matrixTransform(inside);
    line.setAttribute(`x${n}`, at.x);
    line.setAttribute(`y${n}`, at.y);
  });
}
