// The build, one step at a time: what is shown, what was done here, and what still waits to be sent.
import { log, readings, words } from "./build_log.js";
import { fetchAll, look } from "./build_look.js";
import { Queue, durable, keep, kept, newId, waiting } from "./build_queue.js";

const root = document.getElementById("build");
const at = new URL(root.dataset.at, location.href).pathname;
const steps = [...root.querySelectorAll("article.step")];
const byId = new Map(steps.map((s) => [s.dataset.step, s]));
const part = (id) => document.getElementById(id);
const looks = JSON.parse(root.dataset.looks);
const same = (a, b) => told(a) === told(b) || told(a, "strokes") === told(b, "strokes");

let acts = JSON.parse(root.dataset.acts);
let last = Number(root.dataset.last);
let queued = [];
let current = steps.find((s) => !s.hidden) || steps[0];
const queue = new Queue(at, root.dataset.token, read, saved);

// A name as it is read, as the server takes it: letters that look alike are alike.
function told(name, also = "letters") {
  let text = name.normalize("NFKC");
  for (const table of new Set(["letters", also])) text = [...text].map((c) => looks[table][c] || c).join("");
  return text.toLowerCase().normalize("NFKD").replace(/[\u0300-\u036f\p{Zs}\p{Pd}\p{Po}\p{Pc}\p{Cf}\p{Cc}]/gu, "") || name.trim().replace(/\s+/g, " ");
}

// ---- what stands ------------------------------------------------------------------------------

function all() {
  const known = new Set(acts.map((a) => a.id));
  return [...acts, ...queued.filter((a) => !known.has(a.id)).map((a) => ({ ...a, waits: !a.refused }))];
}

function standings() {
  const listed = all().filter((a) => !a.refused);
  const gone = new Set(listed.filter((a) => a.kind === "undone").map((a) => a.of));
  const found = new Map();
  for (const act of listed) {
    if (act.kind === "undone" || gone.has(act.id)) continue;
    if (!found.has(act.step)) found.set(act.step, { done: [], signed: [], reading: [], photo: [], note: [] });
    found.get(act.step)[act.kind].push(act);
  }
  for (const s of found.values()) s.signed = s.signed.filter((a) => s.done.length && !s.done.some((d) => same(d.by, a.by)));
  return found;
}

const NONE = { done: [], signed: [], reading: [], photo: [], note: [] };

// ---- showing ----------------------------------------------------------------------------------

function show() {
  const found = standings();
  const of = (id) => found.get(id) || NONE;
  const gate = (s) => "gate" in s.dataset;
  const done = steps.filter((s) => of(s.dataset.step).done.length);
  part("count").textContent = String(done.length);
  part("far").value = done.length;
  for (const link of root.querySelectorAll("#all a[data-to]")) {
    const [step, s] = [byId.get(link.dataset.to), of(link.dataset.to)];
    const words = s.signed.length ? "signed" : s.done.length > 1 ? "done twice" : s.done.length ? (gate(step) ? "done, not signed" : "done") : gate(step) ? "signature" : "";
    link.querySelector(".mark").textContent = words;
    link.classList.toggle("is-done", s.done.length > 0);
    if (step === current) link.setAttribute("aria-current", "step"); else link.removeAttribute("aria-current");
  }
  const [id, mine] = [current.dataset.step, of(current.dataset.step)];
  const shut = JSON.parse(current.dataset.gates).filter((g) => byId.has(g) && !of(g).signed.length);
  const before = JSON.parse(current.dataset.after).filter((a) => byId.has(a) && !of(a).done.length && !shut.includes(a));
  links(part("blocked"), "Wait. A second person has not signed:", shut);
  links(current.querySelector("[data-first]"), "Not done yet, and usually first:", before);
  part("twice").hidden = mine.done.length < 2;
  const is = mine.done.length > 0;
  part("done").disabled = is || shut.length > 0;
  part("done").textContent = is ? (mine.signed.length || !gate(current) ? "Is done" : "Wants a signature") : shut.length ? "Waits" : "Done";
  part("tick").hidden = is;
  part("sign").hidden = !gate(current) || !is || mine.signed.length > 0;
  log(part("log"), [...mine.done, ...mine.signed, ...mine.photo, ...mine.note], takeBack);
  for (const form of current.querySelectorAll("form.measure")) readings(form, mine.reading, takeBack);
  const n = steps.indexOf(current);
  step(part("previous"), steps[n - 1]);
  step(part("next"), steps[n + 1]);
  refusals();
  stand();
}

function links(place, words, ids) {
  place.hidden = !ids.length;
  place.replaceChildren(words);
  for (const id of ids.slice(0, 6)) {
    const link = document.createElement("a");
    link.className = "press";
    link.href = addressOf(id);
    link.dataset.to = id;
    link.textContent = `step ${byId.get(id).dataset.number}`;
    place.append(" ", link);
  }
  if (ids.length > 6) place.append(` and ${ids.length - 6} more`);
}

function step(link, to) {
  if (to) { link.href = addressOf(to.dataset.step); link.dataset.to = to.dataset.step; link.removeAttribute("aria-disabled"); }
  else { link.removeAttribute("href"); delete link.dataset.to; link.setAttribute("aria-disabled", "true"); }
}

const addressOf = (id) => `${at}?step=${encodeURIComponent(id)}`;

function refusals() {
  const found = queued.filter((a) => a.refused);
  const list = part("refusals");
  list.hidden = !found.length;
  list.replaceChildren(...found.map((act) => {
    const li = document.createElement("li");
    const again = Object.assign(document.createElement("button"), { type: "button", textContent: "Send again" });
    const out = Object.assign(document.createElement("button"), { type: "button", textContent: "Leave it out" });
    again.addEventListener("click", () => queue.retry(act.seq));
    out.addEventListener("click", () => queue.forget(act.seq));
    const line = words(act);
    line.append(`. ${act.refused}`);
    li.append(line, again, out);
    return li;
  }));
}

function stand() {
  const waits = queued.filter((a) => !a.refused).length;
  const place = part("queue");
  const lost = queue.trouble || (navigator.onLine ? "" : "No connection.");
  const hold = !durable || !navigator.serviceWorker ? " Leave this page open." : "";
  const said = waits ? `${lost || "Sending."} ${waits} waiting${durable ? ", kept on this phone" : ""}.${lost ? hold : ""}` : lost ? `${lost} Nothing waits.${hold}` : "All saved.";
  if (place.textContent !== said) place.textContent = said;
  place.dataset.state = waits ? "waits" : lost ? "lost" : "saved";
}

// ---- going from step to step ------------------------------------------------------------------

function go(id, focus = true) {
  const to = byId.get(id);
  if (!to) return;
  for (const s of steps) s.hidden = s !== to;
  current = to;
  history.replaceState(null, "", addressOf(id));
  try { localStorage.setItem(at, id); } catch { /* the address still says it */ }
  for (const form of root.querySelectorAll("#acts form")) form.classList.remove("tried");
  show();
  for (const drawing of to.querySelectorAll(".look")) look(drawing);
  if (!focus) return;
  window.scrollTo(0, 0);
  to.querySelector("h2").focus({ preventScroll: true });
}

root.addEventListener("click", (event) => {
  const link = event.target.closest("a[data-to]");
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  part("all").open = false;
  go(link.dataset.to);
});

document.addEventListener("keydown", (event) => {
  if (event.target.closest("input, textarea, select, .drawing, [role=toolbar]") || event.altKey || event.ctrlKey || event.metaKey) return;
  if (event.key === "ArrowLeft") part("previous").click();
  if (event.key === "ArrowRight") part("next").click();
});

// ---- doing ------------------------------------------------------------------------------------

function takeBack(act) {
  put({ kind: "undone", of: act.id, step: act.step });
  current.querySelector("h2").focus();
}

function put(act) {
  return queue.put({ id: newId(), step: current.dataset.step, at: new Date().toISOString(), by: who(), ...act });
}

const who = () => part("tick").elements.by.value.trim();

function taken(form, work) {
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    await work(form.elements);
  });
}

taken(part("tick"), async ({ by }) => {
  if (part("done").disabled) return;
  try { localStorage.setItem("build name", by.value.trim()); } catch { /* it is asked for again */ }
  await put({ kind: "done" });
  part("next").focus();
});

taken(part("sign"), async ({ by }) => {
  const done = (standings().get(current.dataset.step) || NONE).done;
  const mine = done.some((d) => same(d.by, by.value));
  by.setCustomValidity(mine ? "Somebody else looks at it and signs." : "");
  if (!by.reportValidity()) { by.addEventListener("input", () => by.setCustomValidity(""), { once: true }); return; }
  await put({ kind: "signed", by: by.value.trim() });
  by.value = "";
  part("next").focus();
});

taken(part("photo"), async ({ file }) => {
  const chosen = file.files[0];
  await put({ kind: "photo", photo: await chosen.arrayBuffer(), type: chosen.type, place: current.dataset.place, caption: `${current.dataset.number}. ${current.dataset.title}` });
  file.value = "";
});

taken(part("note"), async ({ text }) => {
  await put({ kind: "note", text: text.value });
  text.value = "";
});

for (const form of root.querySelectorAll("form.measure")) {
  taken(form, async ({ value, unit }) => {
    const read = Number(value.value.trim().replace(",", ".").replace("\u2212", "-"));
    value.setCustomValidity(value.value.trim() && Number.isFinite(read) ? "" : "Type the number alone.");
    if (!value.reportValidity()) { value.addEventListener("input", () => value.setCustomValidity(""), { once: true }); return; }
    await put({ kind: "reading", measure: form.dataset.measure, value: read, unit: unit.value });
    value.value = "";
  });
}

// ---- the server and the phone -----------------------------------------------------------------

async function read() {
  queued = await waiting(at);
  show();
}

function saved(act) {
  if (acts.some((a) => a.id === act.id)) return;
  acts = [...acts, act].sort((a, b) => a.n - b.n);
  remember();
}

function remember() {
  keep(at, { acts, last });
}

// What came in from other phones. Numbers rise without an end: whoever has seen `last` asks for what follows it.
async function bring() {
  try {
    const answer = await fetch(`${at}/acts.json?since=${last}`);
    if (!answer.ok) return;
    const { data } = await answer.json();
    if (data.last < last) { last = 0; acts = []; return void bring(); }
    const known = new Set(data.acts.map((a) => a.id));
    acts = [...acts.filter((a) => !known.has(a.id)), ...data.acts].sort((a, b) => a.n - b.n);
    last = data.last;
    part("newer").hidden = !data.key || data.key === root.dataset.key;
    remember();
    show();
  } catch { /* no connection: what is known stays */ }
}

function follow() {
  let source = null;
  const open = () => {
    source?.close();
    source = new EventSource(`/jobs/${root.dataset.job}/events`);
    source.addEventListener("changed", bring);
    source.addEventListener("open", () => { bring(); queue.now(); });
  };
  open();
  document.addEventListener("visibilitychange", () => { if (document.hidden) source.close(); else open(); });
  window.addEventListener("pagehide", () => source.close());
  window.addEventListener("pageshow", (event) => { if (event.persisted) open(); });
  for (const name of ["online", "offline"]) window.addEventListener(name, stand);
}

async function begin() {
  const before = await kept(at);
  if (before) {
    const known = new Set(acts.map((a) => a.id));
    acts = [...acts, ...before.acts.filter((a) => !known.has(a.id))].sort((a, b) => a.n - b.n);
    last = Math.max(last, before.last);
  }
  queued = await waiting(at);
  let [name, seen] = ["", ""];
  try { [name, seen] = [localStorage.getItem("build name") || "", localStorage.getItem(at) || ""]; } catch { /* asked for again */ }
  part("tick").elements.by.value = name;
  const asked = new URLSearchParams(location.search).get("step");
  const first = [asked, seen, current.dataset.step].find((id) => id && byId.has(id));
  go(first, false);
  root.dataset.ready = "1";
  queue.now();
  follow();
  fetchAll().then(() => { root.dataset.drawings = "1"; });
  if (navigator.serviceWorker) {
    navigator.serviceWorker.register(`${at}/worker.js`, { scope: at }).catch(() => {});
    navigator.serviceWorker.ready.then(() => { root.dataset.kept = "1"; });
    navigator.storage?.persist?.();
  }
}

begin();
