// Keeps the parts of a page that show results up to date; what somebody is typing is left alone.
const LIVE = ["queued", "running"];
const LOOK_MS = 1500;
let running = false;
let again = false;
let timer = 0;

export async function refresh() {
  if (running) { again = true; return; }
  running = true;
  clearTimeout(timer);
  try {
    do {
      again = false;
      if (await bring() && !again) timer = setTimeout(refresh, LOOK_MS);
    } while (again);
  } catch {
    document.dispatchEvent(new CustomEvent("bench:say", { detail: "The server does not answer. This page shows what was last known." }));
  } finally {
    running = false;
  }
}

// Fetches the page anew and puts its live parts in place. Returns true while a part is still being worked out.
async function bring() {
  const url = new URL(location.href);
  url.hash = "";
  const answer = await fetch(url, { headers: { accept: "text/html" } });
  if (!answer.ok) return false;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  let rest = false;
  let came = false;
  for (const part of document.querySelectorAll(".live[id]")) {
    const next = fresh.getElementById(part.id);
    if (!next) continue;
    if (part.querySelector(".held")) { rest = true; continue; } // what is in somebody's hand comes when it is put down
    if ("pending" in next.dataset) {
      rest = true;
      if (part.hasAttribute("aria-busy")) show(part, next);
      part.setAttribute("aria-busy", "true");
      continue;
    }
    if (next.outerHTML === part.source) { part.removeAttribute("aria-busy"); part.querySelector(":scope > .work")?.remove(); continue; }
    put(part, next);
    came = true;
  }
  if (!rest && !came && document.querySelector(".live[data-pending]")) location.reload();
  if (came) document.dispatchEvent(new Event("bench:changed"));
  return rest;
}

// What takes longer than a moment says so, beside what was last known.
function show(part, next) {
  const work = next.querySelector(".work");
  if (!work || part.querySelector(".work")?.dataset.task === work.dataset.task) return;
  part.querySelector(".work")?.remove();
  part.prepend(document.importNode(work, true));
}

// A drawing that is the same but for its marks stays in place, and with it the focus and what is being drawn.
function keep(part, next) {
  const [mine, theirs] = [part, next].map((p) => p.querySelector(".drawing[data-marks]"));
  if (!mine || !theirs || !mine.source || mine.source !== theirs.innerHTML) return false;
  mine.dataset.marks = theirs.dataset.marks;
  const [was, is] = [part, next].map((p) => p.querySelector(".views"));
  if (was && is && !was.contains(document.activeElement)) was.replaceWith(document.importNode(is, true));
  part.querySelector(".work")?.remove();
  part.removeAttribute("aria-busy");
  part.source = next.outerHTML;
  return true;
}

function put(part, next) {
  if (keep(part, next)) return;
  const inside = part.contains(document.activeElement) ? whereIs(document.activeElement) : "";
  const before = [...part.querySelectorAll(".drawing, .wide")].map((box) => [box.scrollLeft, box.scrollTop]);
  const source = next.outerHTML;
  const placed = document.importNode(next, true);
  placed.source = source;
  part.replaceWith(placed);
  [...placed.querySelectorAll(".drawing, .wide")].forEach((box, n) => { if (before[n]) box.scrollTo(...before[n]); });
  if (inside) document.addEventListener("bench:dressed", () => placed.querySelector(inside)?.focus({ preventScroll: true }), { once: true });
  placed.querySelector("a[data-go]")?.click();
}

// How to find the thing in focus again: a link by its address, a place on the diagram by its id.
function whereIs(element) {
  if (element.getAttribute("href")) return `a[href="${CSS.escape(element.getAttribute("href"))}"]`;
  return element.dataset.ref ? `g[data-ref="${CSS.escape(element.dataset.ref)}"]` : "";
}

// How a piece of long work stands: told where it is shown, and the page is brought up to date when it is over.
function told(task) {
  for (const work of document.querySelectorAll(`.work[data-task="${CSS.escape(task.key)}"]`)) {
    if (task.stage) work.querySelector(".stage").textContent = `${task.stage}, ${task.done + 1} of ${task.total}`;
    work.querySelector("progress").max = task.total || 1;
    work.querySelector("progress").value = task.done;
  }
  if (!LIVE.includes(task.state) && document.querySelector(".live[data-pending], .live[aria-busy]")) refresh();
}

// One stream of events while the page is looked at: a browser opens only a few to one server, over all its tabs.
export function follow() {
  const rails = document.querySelector(".rails[data-job]");
  if (!rails) return;
  let source = null;
  const open = () => {
    source?.close();
    source = new EventSource(`/jobs/${rails.dataset.job}/events?since=${rails.dataset.last}`);
    source.addEventListener("changed", (event) => { rails.dataset.last = event.data; refresh(); });
    source.addEventListener("task", (event) => told(JSON.parse(event.data)));
  };
  open();
  if (document.querySelector(".live[data-pending]")) timer = setTimeout(refresh, LOOK_MS);
  document.addEventListener("visibilitychange", () => { if (document.hidden) source.close(); else open(); });
  window.addEventListener("pagehide", () => source.close());
  window.addEventListener("pageshow", (event) => { if (event.persisted) open(); });
}
