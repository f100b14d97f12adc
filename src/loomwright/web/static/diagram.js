// The diagram: wires and items that can be pressed, by finger, mouse or key, and the marks that a page puts on them.
const SVG = "http://www.w3.org/2000/svg";
const LEGIBLE_PX = 10;
const SIGNS = { fault: "×", open: "○", dark: "▨", hot: "▲", warm: "△" };

export function dress(box) {
  if (box.dataset.dressed) return;
  box.dataset.dressed = "1";
  box.dataset.size = sessionStorage.getItem("size") || legible(box);
  for (const group of box.querySelectorAll("g[data-ref]")) {
    if (group.classList.contains("wire")) widen(group); else if (group.classList.contains("item")) outline(group);
    group.setAttribute("tabindex", "0");
    group.setAttribute("role", "button");
    group.addEventListener("click", () => open(box, group));
    group.addEventListener("keydown", (event) => {
      if (event.key === "Enter" || event.key === " ") { event.preventDefault(); open(box, group); }
    });
  }
  mark(box, JSON.parse(box.dataset.marks || "{}"));
  reveal(box);
  for (const button of box.closest("section").querySelectorAll("[data-zoom]")) {
    button.addEventListener("click", () => zoom(box, button.dataset.zoom));
  }
}

// The smallest size at which the words can be read at arm's length.
function legible(box) {
  const words = box.querySelector("text");
  if (!words) return "1";
  for (const size of ["1", "2", "3", "4"]) {
    box.dataset.size = size;
    if (Number(words.getAttribute("font-size")) * words.getScreenCTM().a >= LEGIBLE_PX) return size;
  }
  return "4";
}

// Brings the marked places into the box, the chosen one first.
function reveal(box) {
  const place = box.querySelector("g.chosen, g.fault") || box.querySelector("g.stop, g.hot");
  if (!place) return;
  const [at, room] = [place.getBoundingClientRect(), box.getBoundingClientRect()];
  box.scrollBy(at.left + at.width / 2 - room.left - room.width / 2, at.top + at.height / 2 - room.top - room.height / 2);
}

function widen(group) {
  for (const line of [...group.querySelectorAll("polyline")]) {
    const touch = document.createElementNS(SVG, "polyline");
    touch.setAttribute("points", line.getAttribute("points"));
    touch.setAttribute("stroke-width", "4");
    touch.setAttribute("class", "touch");
    group.prepend(touch);
  }
}

function outline(group) {
  const room = group.getBBox();
  const halo = document.createElementNS(SVG, "rect");
  for (const [name, value] of Object.entries({ x: room.x - 1, y: room.y - 1, width: room.width + 2, height: room.height + 2, rx: 1 })) {
    halo.setAttribute(name, value);
  }
  halo.setAttribute("class", "halo");
  group.append(halo);
}

// Puts classes on places by their id, and a small sign beside each state, so that colour never stands alone.
export function mark(box, marks) {
  for (const sign of box.querySelectorAll(".badge")) sign.remove();
  for (const group of box.querySelectorAll("g[data-ref]")) {
    const kind = group.classList.contains("wire") ? "wire" : group.classList.contains("item") ? "item" : "";
    if (!kind) continue;
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
  const text = document.createElementNS(SVG, "text");
  let [x, y] = [room.x + room.width, room.y];
  if (line && line.getTotalLength) {
    const at = line.getPointAtLength(line.getTotalLength() / 2);
    [x, y] = [at.x, at.y + 2];
  }
  for (const [name, value] of Object.entries({ x, y, "font-size": 6, "text-anchor": "middle", class: "badge" })) text.setAttribute(name, value);
  text.textContent = sign;
  group.append(text);
}

function open(box, group) {
  const kind = group.classList.contains("wire") ? "wire" : "item";
  const ref = encodeURIComponent(group.dataset.ref);
  const base = location.pathname.replace(/\/[^/]*$/, "");
  if (box.dataset.opens === "faults") location.assign(`${base}/faults?where=${ref}`);
  else if (location.pathname.endsWith("/rig")) {
    mark(box, { [group.dataset.ref]: "chosen" });
    document.dispatchEvent(new CustomEvent("bench:open", { detail: `${base}/rig?${kind}=${ref}` }));
  } else location.assign(`${base}/rig?${kind}=${ref}`);
}

function zoom(box, way) {
  const now = Number(box.dataset.size || 1);
  const next = way === "fit" ? 1 : Math.min(5, Math.max(1, now + (way === "in" ? 1 : -1)));
  const [x, y] = [(box.scrollLeft + box.clientWidth / 2) / box.scrollWidth, (box.scrollTop + box.clientHeight / 2) / box.scrollHeight];
  box.dataset.size = String(next);
  sessionStorage.setItem("size", String(next));
  box.scrollTo(x * box.scrollWidth - box.clientWidth / 2, y * box.scrollHeight - box.clientHeight / 2);
}
