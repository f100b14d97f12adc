// Brings a page to life: the diagram, the side sheet, and changes made elsewhere. Pages work without it, with reloads.
import { keepsFocus, light } from "./connect.js";
import { curve } from "./curve.js";
import { dress, mark } from "./diagram.js";
import { follow, refresh } from "./live.js";
import { sections, shine } from "./loom.js";
import { outlines } from "./outline.js";
import { boards } from "./panel.js";
import { play } from "./play.js";
import { spots } from "./spot.js";

function prepare() {
  for (const box of document.querySelectorAll("#diagram .drawing")) dress(box);
  light();
  play();
  curve();
  spots();
  sections();
  boards();
  outlines();
  document.dispatchEvent(new Event("bench:dressed"));
  const finding = document.querySelector(".finding.chosen");
  if (finding && matchMedia("(min-width: 1000px)").matches) finding.parentElement.scrollTop = finding.offsetTop - finding.parentElement.offsetTop;
}

// A link to the side sheet changes the sheet and the address, and leaves the page where it is.
document.addEventListener("click", (event) => {
  const link = event.target.closest("a[data-sheet]");
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey || !window.htmx) return;
  event.preventDefault();
  openSheet(link.href);
});

// One of the views of the diagram: the address changes, and the diagram with it.
document.addEventListener("click", (event) => {
  const link = event.target.closest("a[data-view]");
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  const url = new URL(location.href);
  url.searchParams.set("view", link.dataset.view);
  history.pushState({}, "", url);
  for (const other of document.querySelectorAll("a[data-view]")) {
    if (other === link) other.setAttribute("aria-current", "true"); else other.removeAttribute("aria-current");
  }
  refresh();
});

// A drawing chosen from a list.
document.addEventListener("change", (event) => {
  if (!event.target.matches("form.views select")) return;
  const url = new URL(location.href);
  url.searchParams.set("view", event.target.value);
  history.pushState({}, "", url);
  refresh();
});

// A column to order a list by: the address changes, and the list with it.
document.addEventListener("click", (event) => {
  const link = event.target.closest("a[data-order]");
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  const url = new URL(location.href);
  const asked = new URL(link.href).searchParams.get("sort");
  url.searchParams.set("sort", asked);
  history.pushState({}, "", url);
  refresh();
});

// Words to find in a list: the list follows as they are typed.
let typing = 0;
document.addEventListener("input", (event) => {
  const field = event.target.closest("form.search input[name=find]");
  if (!field) return;
  clearTimeout(typing);
  typing = setTimeout(() => {
    const url = new URL(location.href);
    if (field.value.trim()) url.searchParams.set("find", field.value.trim()); else url.searchParams.delete("find");
    history.replaceState({}, "", url);
    refresh();
  }, 150);
});

// Diagram and tables are two views of one thing: what is chosen in one is chosen in the other.
function choose(url) {
  const asked = new URL(url, location.href).searchParams;
  const ref = asked.get("wire") || asked.get("item") || "";
  for (const box of document.querySelectorAll("#diagram .drawing")) mark(box, ref ? { [ref]: "chosen" } : {});
  for (const row of document.querySelectorAll("#tables tr[data-ref]")) row.classList.toggle("chosen", row.dataset.ref === ref);
  shine(asked.get("wire") || "", asked.get("item") || "");
}

// What a reader has set on the page stays: order and words of a list, and on the loom page a drawing that shows the wire.
function kept(next) {
  const now = new URL(location.href);
  if (next.pathname !== now.pathname) return;
  const wire = next.searchParams.get("wire");
  const drawn = next.pathname.endsWith("/loom") && wire && document.querySelector(`#diagram g[data-ref="${CSS.escape(wire)}"]`);
  for (const key of drawn ? ["sort", "find", "view"] : ["sort", "find"]) {
    if (now.searchParams.has(key) && !next.searchParams.has(key)) next.searchParams.set(key, now.searchParams.get(key));
  }
}

export function openSheet(asked) {
  const next = new URL(asked, location.href);
  kept(next);
  const url = next.href;
  choose(url);
  history.pushState({}, "", url);
  window.htmx.ajax("GET", url, { target: "#sheet", select: "#sheet", swap: "outerHTML" }).then(() => {
    light();
    refresh();
  });
}

document.addEventListener("bench:open", (event) => openSheet(event.detail));
window.addEventListener("popstate", () => location.reload());

document.addEventListener("htmx:afterSettle", (event) => {
  const request = event.detail.requestConfig;
  if (!request || request.verb === "get" && !event.detail.target?.matches?.("#sheet")) return;
  const shown = event.detail.xhr?.responseURL;
  if (request.verb === "post" && shown && event.detail.xhr.status < 400) history.replaceState({}, "", shown);
  light();
  const sheet = document.getElementById("sheet");
  if (document.activeElement?.closest(".nudge")) { refresh(); return; }
  if (keepsFocus()) return;
  if (sheet && matchMedia("(max-width: 999px)").matches) sheet.scrollIntoView({ block: "start" });
  const head = sheet?.querySelector("h2");
  if (head) { head.tabIndex = -1; head.focus({ preventScroll: true }); }
  sheet?.querySelector(".refused")?.scrollIntoView({ block: "nearest" });
  if (request.verb === "post") refresh();
});
document.addEventListener("htmx:sendError", () => say("The server does not answer. What you typed is still here: save again when it is back."));

export function say(words) {
  const place = document.getElementById("said");
  place.textContent = words;
  clearTimeout(place.timer);
  place.timer = setTimeout(() => { place.textContent = ""; }, 8000);
}

document.addEventListener("bench:changed", prepare);
document.addEventListener("bench:say", (event) => say(event.detail));
prepare();
follow();
export { mark };
