// The diagram: wires and items that can be pressed, by finger, mouse or key, and the marks that a page puts on them.
import { connect, inHand, jointOf, pick, terminalOf } from "./connect.js";
import { begin, legible, reveal, zoom } from "./sight.js";

const SVG = "http://www.w3.org/2000/svg";
const SIGNS = { fault: "×", open: "○", dark: "▨", hot: "▲", warm: "△" };

// What each kind of mark on the drawing is given to press.
const PARTS = { wire: widen, flag: () => {}, item: outline, device: outline, joint: ring, terminal: ring, run: widen, card: frame, place: frame };
const HOLDS = ["card", "place"]; // may have wires inside, which are pressed for themselves

export function dress(box) {
  if (box.dataset.dressed) { remark(box); return; }
  const groups = [...box.querySelectorAll("g[data-ref]")].filter((group) => PARTS[kindOf(group)]);
  const rooms = groups.map((group) => ([outline, frame].includes(PARTS[kindOf(group)]) ? group.getBBox() : null));
  const size = sessionStorage.getItem("size") || legible(box); // all is read before anything is changed: one layout
  box.source = box.innerHTML;
  box.dataset.dressed = "1";
  box.dataset.size = size;
  for (const [n, group] of groups.entries()) {
    const kind = kindOf(group);
    PARTS[kind](group, rooms[n]);
    if (!HOLDS.includes(kind) || !group.querySelector("g[data-ref]")) { // a button holds no other: what holds wires is for the pointer
      group.setAttribute("tabindex", ["item", "wire", "run", "card", "place"].includes(kind) ? "0" : "-1");
      group.setAttribute("role", "button");
    } else group.setAttribute("role", "group");
    group.addEventListener("click", (event) => {
      if (HOLDS.includes(kind) && ![group, null].includes(event.target.closest("g[data-ref][role=button]"))) return;
      press(box, group, event.target);
    });
    group.addEventListener("keydown", (event) => {
      if (event.target !== group) return; // a wire inside it answers for itself
      if (event.key === "Enter" || event.key === " ") { event.preventDefault(); press(box, group, group); }
      else if (/^Arrow/.test(event.key)) step(box, group, event);
    });
  }
  if (box.dataset.opens === "draw") connect(box);
  remark(box);
  requestAnimationFrame(() => begin(box)); // when the page is laid out anyway
  for (const button of box.closest("section").querySelectorAll("[data-zoom]")) {
    button.addEventListener("click", () => zoom(box, button.dataset.zoom));
  }
}

function remark(box) {
  if (box.marked === box.dataset.marks) return;
  box.marked = box.dataset.marks;
  mark(box, JSON.parse(box.dataset.marks || "{}"));
  reveal(box);
}

const kindOf = (group) => (group.getAttribute("class") || "").split(" ")[0];

// Arrows go from an item to its joints, fuses and free terminals, and on among them.
function step(box, group, event) {
  const owner = kindOf(group) === "item" ? group.dataset.ref : ownerOf(group);
  const stops = [...box.querySelectorAll("g.item, g.joint, g.terminal, g.device")].filter((g) => ownerOf(g) === owner);
  if (!owner || stops.length < 2) return;
  event.preventDefault();
  const way = event.key === "ArrowRight" || event.key === "ArrowDown" ? 1 : -1;
  stops[(stops.indexOf(group) + way + stops.length) % stops.length].focus();
}

function ownerOf(group) {
  const kind = kindOf(group);
  return kind === "item" ? group.dataset.ref : kind === "wire" || kind === "flag" ? "" : terminalOf(group).split(".")[0];
}

export function widen(group) {
  for (const line of [...group.querySelectorAll("polyline")]) {
    group.prepend(append(group, "polyline", { points: line.getAttribute("points"), "stroke-width": 4, class: "touch" }));
  }
}

// The outline of what holds wires lies under them.
function frame(group, room) {
  outline(group, room);
  group.prepend(group.lastElementChild);
}

export function outline(group, room) {
  append(group, "rect", { x: room.x - 1, y: room.y - 1, width: room.width + 2, height: room.height + 2, rx: 1, class: "halo" });
}

// The ring of a terminal and the room to press it; a joint's ring stands where its wire meets the box.
function ring(group) {
  widen(group);
  let dot = group.querySelector("circle");
  if (!dot) {
    const points = group.querySelector("polyline:not(.touch)").getAttribute("points").split(" ");
    const [cx, cy] = points[points.length - 1].split(",");
    dot = append(group, "circle", { cx, cy, r: 0.9 });
  }
  dot.setAttribute("class", "ring");
  append(group, "circle", { cx: dot.getAttribute("cx"), cy: dot.getAttribute("cy"), r: 3.2, class: "hit" });
}

function append(parent, tag, values) {
  const made = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(values)) made.setAttribute(name, value);
  return parent.appendChild(made);
}

// Puts classes on places by their id, and a small sign beside each state, so that colour never stands alone.
export function mark(box, marks) {
  for (const sign of box.querySelectorAll(".badge")) sign.remove();
  for (const group of box.querySelectorAll("g[data-ref]")) {
    const kind = kindOf(group);
    if (kind === "flag") continue;
    const states = (marks[group.dataset.ref] || "").split(" ").filter(Boolean);
    group.setAttribute("class", [kind, ...states].join(" "));
    const sign = states.map((s) => SIGNS[s]).find(Boolean);
    if (sign) badge(group, sign);
    if (states.length) group.setAttribute("aria-description", states.join(", ")); else group.removeAttribute("aria-description");
  }
}

function badge(group, sign) {
  const line = group.querySelector(".touch");
  const room = group.getBBox();
  let [x, y] = [room.x + room.width, room.y];
  if (line && line.getTotalLength) {
    const at = line.getPointAtLength(line.getTotalLength() / 2);
    [x, y] = [at.x, at.y + 2];
  }
  append(group, "text", { x, y, "font-size": 6, "text-anchor": "middle", class: "badge" }).textContent = sign;
}

function press(box, group, target) {
  const kind = kindOf(group);
  const ends = kind === "joint" || kind === "terminal";
  if (box.dataset.opens === "draw") {
    const stub = kind === "joint" && target !== group && !target.closest(".ring, .hit");
    if (inHand() ? ends : ends && !stub) { pick(terminalOf(group)); return; }
    if (inHand()) return;
  }
  open(box, group, kind);
}

function open(box, group, kind) {
  const base = location.pathname.replace(/\/[^/]*$/, "");
  const ref = group.dataset.ref;
  if (box.dataset.opens === "faults") {
    location.assign(`${base}/faults?where=${encodeURIComponent(kind === "terminal" ? ownerOf(group) : ref)}`);
    return;
  }
  const item = kind === "wire" || kind === "flag" || kind === "joint" ? "" : ownerOf(group);
  const view = document.querySelector("a[data-view][aria-current]")?.dataset.view;
  const query = item ? `item=${encodeURIComponent(item)}${view ? `&view=${view}` : ""}` : `wire=${encodeURIComponent(kind === "joint" ? jointOf(group)[0] : ref)}`;
  const other = { run: `run=${encodeURIComponent(ref)}`, place: `place=${encodeURIComponent(ref)}`, card: ref.startsWith("run ") ? `run=${encodeURIComponent(ref.slice(4))}` : `item=${encodeURIComponent(ref)}` }[kind];
  if (box.dataset.opens === "loom") document.dispatchEvent(new CustomEvent("bench:open", { detail: `${base}/loom?${other || query}` }));
  else if (box.dataset.opens === "draw") document.dispatchEvent(new CustomEvent("bench:open", { detail: `${base}/rig?${query}` }));
  else location.assign(`${base}/rig?${query}`);
}
