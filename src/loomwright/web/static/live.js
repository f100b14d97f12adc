// Keeps the parts of a page that show results up to date; what somebody is typing is left alone.
let running = false;
let again = false;

export async function refresh() {
  if (running) { again = true; return; }
  running = true;
  try {
    do {
      again = false;
      const rest = await bring(false);
      if (rest && !again) await bring(true);
    } while (again);
  } catch {
    document.dispatchEvent(new CustomEvent("bench:say", { detail: "The server does not answer. This page shows what was last known." }));
  } finally {
    running = false;
  }
}

// Fetches the page anew and puts its live parts in place. Returns true while a part is still being worked out.
async function bring(wait) {
  const url = new URL(location.href);
  url.hash = "";
  if (wait) url.searchParams.set("wait", "1");
  const answer = await fetch(url, { headers: { accept: "text/html" } });
  if (!answer.ok) return false;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  let rest = false;
  let came = false;
  for (const part of document.querySelectorAll(".live[id]")) {
    const next = fresh.getElementById(part.id);
    if (!next) continue;
    if ("pending" in next.dataset) {
      rest = true;
      part.setAttribute("aria-busy", "true");
      continue;
    }
    if (next.outerHTML === part.source) { part.removeAttribute("aria-busy"); continue; }
    put(part, next);
    came = true;
  }
  if (!rest && !came && wait && document.querySelector(".live[data-pending]")) location.reload();
  if (came) document.dispatchEvent(new Event("bench:changed"));
  return rest;
}

function put(part, next) {
  const inside = part.contains(document.activeElement) ? document.activeElement.getAttribute("href") : null;
  const before = [...part.querySelectorAll(".drawing, .wide")].map((box) => [box.scrollLeft, box.scrollTop]);
  const source = next.outerHTML;
  const placed = document.importNode(next, true);
  placed.source = source;
  part.replaceWith(placed);
  [...placed.querySelectorAll(".drawing, .wide")].forEach((box, n) => { if (before[n]) box.scrollTo(...before[n]); });
  if (inside) placed.querySelector(`a[href="${CSS.escape(inside)}"]`)?.focus({ preventScroll: true });
}

export function follow() {
  const rails = document.querySelector(".rails[data-job]");
  if (!rails) return;
  if (document.querySelector(".live[data-pending]")) refresh();
  const source = new EventSource(`/jobs/${rails.dataset.job}/events?since=${rails.dataset.last}`);
  source.addEventListener("changed", refresh);
  window.addEventListener("pagehide", () => source.close());
}
