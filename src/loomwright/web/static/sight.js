// What of a drawing is in sight: how large it is shown, and which part of it its box shows.
const LEGIBLE_PX = 10;
const WIDTHS = { 1: 1, 2: 1.6, 3: 2.4, 4: 3.6 };

// The smallest size at which the words can be read at arm's length. Sizes are widths of the box, as the style sheet has them.
export function legible(box) {
  const [words, picture] = [box.querySelector("text"), box.querySelector("svg")];
  if (!words) return "1";
  const least = parseFloat(getComputedStyle(picture).minWidth) || 0;
  const room = box.clientWidth;
  const tall = Number(words.getAttribute("font-size")) / picture.viewBox.baseVal.width;
  const found = Object.entries(WIDTHS).find(([, share]) => tall * Math.max(share * room, least) >= LEGIBLE_PX);
  return found ? found[0] : "4";
}

// Brings the marked places into the box, the chosen one first.
export function reveal(box) {
  const place = box.querySelector('g.chosen, g.fault, g[data-draws="from"]') || box.querySelector("g.stop, g.hot");
  if (!place) return;
  const [at, room] = [place.getBoundingClientRect(), box.getBoundingClientRect()];
  if (at.left >= room.left && at.right <= room.right && at.top >= room.top && at.bottom <= room.bottom) return;
  box.scrollBy(at.left + at.width / 2 - room.left - room.width / 2, at.top + at.height / 2 - room.top - room.height / 2);
}

// Where nothing is marked, a drawing that its box cannot hold begins where the current does: at its leftmost item.
export function begin(box) {
  if (box.scrollLeft || box.scrollTop) return;
  const rooms = [...box.querySelectorAll("g.item")].map((group) => group.getBoundingClientRect());
  if (!rooms.length) return;
  const [first, room] = [rooms.reduce((a, b) => (b.left < a.left ? b : a)), box.getBoundingClientRect()];
  box.scrollTo(0, first.top + first.height / 2 - room.top - room.height / 2);
}

export function zoom(box, way) {
  const now = Number(box.dataset.size || 1);
  const next = way === "fit" ? 1 : Math.min(5, Math.max(1, now + (way === "in" ? 1 : -1)));
  const [x, y] = [(box.scrollLeft + box.clientWidth / 2) / box.scrollWidth, (box.scrollTop + box.clientHeight / 2) / box.scrollHeight];
  box.dataset.size = String(next);
  sessionStorage.setItem("size", String(next));
  box.scrollTo(x * box.scrollWidth - box.clientWidth / 2, y * box.scrollHeight - box.clientHeight / 2);
}
