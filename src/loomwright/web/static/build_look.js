// The drawing beside a step, near enough to read, at the wire in question.
import { outline, widen } from "./diagram.js";

const LEGIBLE_PX = 12;
const MOST = 2;
const EDGE_PX = 12;

const sheets = new Map();

// All sheets, one after the other, so that each is there when it is looked at and when the connection is gone.
export async function fetchAll() {
  for (const { id } of document.querySelectorAll("[id^=sheet-][data-from]")) await sheet(id).catch(() => {});
}

// A sheet, fetched once; what could not be fetched is asked for again.
function sheet(id) {
  if (!sheets.has(id)) {
    const got = bring(document.getElementById(id).dataset.from);
    sheets.set(id, got);
    got.catch(() => sheets.delete(id));
  }
  return sheets.get(id);
}

async function bring(from) {
  const answer = await fetch(from);
  if (!answer.ok) throw new Error(`${answer.status}`);
  const picture = new DOMParser().parseFromString(await answer.text(), "image/svg+xml").documentElement;
  if (picture.nodeName !== "svg") throw new Error("no drawing");
  return picture;
}

export function look(place) {
  if (place.dataset.shown) { place.show?.(); return; }
  place.dataset.shown = "1";
  open(place, JSON.parse(place.dataset.sheets), 0);
}

async function open(place, names, now) {
  let source;
  try {
    source = await sheet(`sheet-${names[now]}`);
  } catch {
    missing(place);
    return;
  }
  if (!place.offsetParent) { delete place.dataset.shown; return; } // gone on meanwhile: nothing can be measured there
  const wires = JSON.parse(place.dataset.wires);
  const items = JSON.parse(place.dataset.items);
  const box = document.createElement("div");
  box.className = "drawing near";
  box.tabIndex = 0;
  box.setAttribute("role", "group");
  box.setAttribute("aria-label", wires.length ? `Drawing, wires ${wires.join(", ")} marked` : `Drawing, ${items.join(", ")} marked`);
  const picture = document.importNode(source, true);
  box.append(picture);
  place.replaceChildren(box);
  const groups = mark(picture, wires, items);
  const size = picture.viewBox.baseVal;
  const letter = Math.min(...[...picture.querySelectorAll("text")].map((t) => Number(t.getAttribute("font-size"))));
  let scale = 1;

  function set(next, at) {
    const whole = Math.min((box.clientWidth - 2) / size.width, 3);
    scale = Math.max(next, whole);
    picture.style.width = `${size.width * scale}px`;
    picture.style.height = `${size.height * scale}px`;
    box.scrollTo(at.x * scale - box.clientWidth / 2, at.y * scale - box.clientHeight / 2);
  }

  function show(rooms, ends) {
    const room = union(rooms);
    if (!room) { set(0, { x: size.width / 2, y: size.height / 2 }); return; }
    const least = LEGIBLE_PX / letter;
    const fit = Math.min((box.clientWidth - 2 * EDGE_PX) / room.width, (box.clientHeight - 2 * EDGE_PX) / room.height);
    set(Math.min(Math.max(fit, least), MOST * least), fit >= least ? middle(room) : ends);
  }

  place.show = () => {
    const mine = groups.filter((g) => (wires.length ? g.wire : true));
    show(mine.map((g) => g.room), mine.length ? mine[0].ends[0] : { x: 0, y: 0 });
  };
  if (names.length > 1) place.append(others(place, names, now));
  place.append(chips(groups, show), tools(() => scale, set, box, size));
  place.show();
}

// The drawing has not come: the link to the diagram stays, and the next look tries again.
function missing(place) {
  delete place.dataset.shown;
  if (place.querySelector(".waits")) return;
  const words = document.createElement("p");
  words.className = "waits";
  words.textContent = "The drawing comes with the connection.";
  place.prepend(words);
  window.addEventListener("online", () => { words.remove(); if (place.offsetParent) look(place); }, { once: true });
}

function mark(picture, wires, items) {
  const found = [];
  for (const [refs, kind] of [[wires, "wire"], [items, "item"]]) {
    for (const ref of refs) {
      for (const group of picture.querySelectorAll(`g.${kind}[data-ref="${CSS.escape(ref)}"]`)) {
        const room = group.getBBox();
        if (kind === "wire") widen(group); else outline(group, room);
        group.classList.add("chosen");
        found.push({ ref, wire: kind === "wire", room, ends: kind === "wire" ? endsOf(group) : [middle(room)] });
      }
    }
  }
  return found;
}

function endsOf(group) {
  const points = [...group.querySelectorAll("polyline:not(.touch)")].flatMap((line) => line.getAttribute("points").split(" ").map((p) => p.split(",").map(Number)));
  const [first, last] = [points[0], points[points.length - 1]];
  return [{ x: first[0], y: first[1] }, { x: last[0], y: last[1] }];
}

// One button for each sheet that the step is about, the one that shows most of it first.
function others(place, names, now) {
  const row = document.createElement("div");
  row.className = "chips";
  row.setAttribute("role", "toolbar");
  row.setAttribute("aria-label", "Sheets of this step");
  names.forEach((name, k) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = document.getElementById(`sheet-${name}`).dataset.words;
    button.setAttribute("aria-pressed", String(k === now));
    button.addEventListener("click", async () => { await open(place, names, k); place.querySelectorAll(".chips button")[k]?.focus(); });
    row.append(button);
  });
  return row;
}

// One button for each wire: it goes to one end of it, and pressed again to the other.
function chips(groups, show) {
  const row = document.createElement("div");
  row.className = "chips";
  row.setAttribute("role", "toolbar");
  row.setAttribute("aria-label", "Go to a wire or part on the drawing");
  for (const { ref, room, ends } of groups) {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = ref;
    button.setAttribute("aria-label", ends.length > 1 ? `Show ${ref}; again for its other end` : `Show ${ref}`);
    let end = 0;
    button.addEventListener("click", () => { show([room], ends[end % ends.length]); end += 1; });
    row.append(button);
  }
  return row;
}

function tools(now, set, box, size) {
  const row = document.createElement("div");
  row.className = "tools";
  row.setAttribute("role", "toolbar");
  row.setAttribute("aria-label", "Size of the drawing");
  const centre = () => ({ x: (box.scrollLeft + box.clientWidth / 2) / now(), y: (box.scrollTop + box.clientHeight / 2) / now() });
  for (const [words, act] of [["Smaller", () => set(now() / 1.5, centre())], ["Whole", () => set(0, { x: size.width / 2, y: 0 })], ["Larger", () => set(Math.min(now() * 1.5, 20), centre())]]) {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = words;
    button.addEventListener("click", act);
    row.append(button);
  }
  return row;
}

const middle = (room) => ({ x: room.x + room.width / 2, y: room.y + room.height / 2 });

function union(rooms) {
  if (!rooms.length) return null;
  const [left, top] = [Math.min(...rooms.map((r) => r.x)), Math.min(...rooms.map((r) => r.y))];
  const [right, foot] = [Math.max(...rooms.map((r) => r.x + r.width)), Math.max(...rooms.map((r) => r.y + r.height))];
  return { x: left, y: top, width: right - left + 1, height: foot - top + 1 };
}
