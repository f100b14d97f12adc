// Handles on a response curve: each moves one field of the form beside it, and the server answers with curve and parts.
const WAIT_MS = 120;
const [LOW_HZ, HIGH_HZ] = [20, 20000];
const KEYS = { ArrowRight: 1 / 12, ArrowUp: 1 / 12, ArrowLeft: -1 / 12, ArrowDown: -1 / 12, PageUp: 1 / 3, PageDown: -1 / 3 };
const PARTS = ["curve", "parts", "verdict"];
let timer = 0;
let asked = null;

export function curve() {
  const form = document.getElementById("corners");
  if (!form) return;
  if (!form.dataset.ready) {
    form.dataset.ready = "1";
    form.addEventListener("input", () => { kinds(form); later(form); });
    form.addEventListener("submit", (event) => { event.preventDefault(); ask(form); });
    form.elements.driver.addEventListener("change", () => { location.href = `${form.action}?driver=${encodeURIComponent(form.elements.driver.value)}`; });
  }
  place(form);
}

function kinds(form) {
  for (const label of form.querySelectorAll("[data-kinds]")) label.hidden = !label.dataset.kinds.split(" ").includes(form.elements.kind.value);
  place(form);
}

// One handle for each corner that the kind has; they stand over the drawing, which comes and goes under them.
function place(form) {
  const box = document.querySelector(".curve");
  const ready = "ready" in document.getElementById("curve").dataset;
  const fields = { high_pass_hz: "Begins at", low_pass_hz: "Ends at" };
  for (const [field, name] of Object.entries(fields)) {
    const shown = ready && !form.elements[field].closest("label").hidden;
    let handle = box.querySelector(`.handle[data-field="${field}"]`);
    if (!shown) { handle?.remove(); continue; }
    handle ||= make(form, box, field, name);
    put(box, handle, Number(form.elements[field].value));
  }
}

function make(form, box, field, name) {
  const handle = document.createElement("div");
  handle.className = "handle";
  handle.dataset.field = field;
  handle.tabIndex = 0;
  handle.setAttribute("role", "slider");
  handle.setAttribute("aria-label", name);
  handle.setAttribute("aria-valuemin", LOW_HZ);
  handle.setAttribute("aria-valuemax", HIGH_HZ);
  handle.addEventListener("keydown", (event) => {
    const now = Number(form.elements[field].value);
    const next = event.key in KEYS ? now * 2 ** KEYS[event.key] : { Home: LOW_HZ, End: HIGH_HZ }[event.key];
    if (next === undefined) return;
    event.preventDefault();
    move(form, box, handle, next);
  });
  handle.addEventListener("pointerdown", (event) => {
    event.preventDefault();
    handle.focus();
    handle.setPointerCapture(event.pointerId);
  });
  handle.addEventListener("pointermove", (event) => {
    if (!handle.hasPointerCapture(event.pointerId)) return;
    const edge = box.getBoundingClientRect();
    const [left, right] = [Number(box.dataset.left), Number(box.dataset.right)];
    const share = (100 * (event.clientX - edge.left) / edge.width - left) / (right - left);
    move(form, box, handle, LOW_HZ * (HIGH_HZ / LOW_HZ) ** share);
  });
  box.append(handle);
  return handle;
}

function move(form, box, handle, hz) {
  const held = Math.min(HIGH_HZ, Math.max(LOW_HZ, hz));
  const rounded = held < 1000 ? Math.round(held) : Math.round(held / 10) * 10;
  form.elements[handle.dataset.field].value = rounded;
  put(box, handle, rounded);
  later(form);
}

function put(box, handle, hz) {
  const [left, right, top, bottom] = ["left", "right", "top", "bottom"].map((n) => Number(box.dataset[n]));
  const share = Math.log(Math.min(HIGH_HZ, Math.max(LOW_HZ, hz || LOW_HZ)) / LOW_HZ) / Math.log(HIGH_HZ / LOW_HZ);
  handle.style.left = `${left + share * (right - left)}%`;
  handle.style.top = `${top}%`;
  handle.style.height = `${bottom - top}%`;
  handle.setAttribute("aria-valuenow", Math.round(hz));
  handle.setAttribute("aria-valuetext", `${Math.round(hz)} Hz`);
}

function later(form) {
  clearTimeout(timer);
  timer = setTimeout(() => ask(form), WAIT_MS);
}

// Only the last question counts: an older answer is dropped. The address says what is shown.
async function ask(form) {
  clearTimeout(timer);
  asked?.abort();
  asked = new AbortController();
  const url = `${form.action}?${new URLSearchParams(new FormData(form))}`;
  const refused = document.getElementById("refused");
  try {
    const answer = await fetch(url, { headers: { accept: "text/html" }, signal: asked.signal });
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (!answer.ok) { refused.textContent = fresh.querySelector(".problems, main p")?.textContent.trim() || "That cannot be worked out."; return; }
    refused.textContent = "";
    for (const id of PARTS) document.getElementById(id).replaceWith(document.importNode(fresh.getElementById(id), true));
    history.replaceState({}, "", url);
    place(form);
  } catch (error) {
    if (error.name !== "AbortError") document.dispatchEvent(new CustomEvent("bench:say", { detail: "The server does not answer. The curve is the last one known." }));
  }
}
