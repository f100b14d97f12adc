// Corners of a board on its photograph: dragged, or moved by the arrows; the form beside them holds their figures in
// the unit that the shop has chosen.
const STEP_MM = 1;
const FINE_MM = 0.1;
const MM_PER_IN = 25.4;

export function outlines() {
  for (const box of document.querySelectorAll(".outline-box[data-outline]:not([data-ready])")) ready(box);
}

function ready(box) {
  box.dataset.ready = "1";
  const map = JSON.parse(box.dataset.outline).to_mm;
  const form = document.getElementById("rim");
  if (!map.length || !form) return;
  const back = inverse(map);
  const inches = box.dataset.unit === "in";
  const shown = (mm) => (inches ? Math.round(mm / MM_PER_IN * 1000) / 1000 : mm);
  const read = (field) => Number(field.replace(",", ".")) * (inches ? MM_PER_IN : 1);
  const label = (corner) => corner.group.setAttribute(
    "aria-label", `Corner ${corner.n + 1}: ${corner.now.map(shown).join(", ")} ${box.dataset.unit}`);
  const fields = [form.querySelectorAll("input[name=x]"), form.querySelectorAll("input[name=y]")];
  const corners = [...box.querySelectorAll("g.corner")].map((group, n) => {
    const px = JSON.parse(group.dataset.px);
    const mm = fields.map((f) => read(f[n].defaultValue));
    return { group, n, px, mm, far: apply(map, px), now: mm };
  });
  const rim = [...box.querySelectorAll("polygon.rim.outer, polygon.under")].filter((p, n) => p.classList.contains("outer") || n === 0);
  const shape = rim[0].getAttribute("points");

  const at = (corner) => {
    const delta = corner.now.map((v, k) => v - corner.mm[k]);
    const moved = apply(back, corner.far.map((v, k) => v + delta[k]));
    const start = apply(back, corner.far);
    return corner.px.map((v, k) => v + moved[k] - start[k]);
  };
  const draw = () => {
    const still = corners.every((c) => c.now.every((v, k) => v === c.mm[k]));
    const points = still ? shape : corners.map((c) => at(c).join(",")).join(" ");
    for (const line of rim) line.setAttribute("points", points);
  };
  const put = (corner, mm) => {
    corner.now = mm.map((v) => Math.round(v * 10) / 10);
    const px = at(corner);
    corner.group.setAttribute("transform", `translate(${px[0] - corner.px[0]} ${px[1] - corner.px[1]})`);
    label(corner);
    draw();
  };
  const type = (corner) => corner.now.forEach((v, k) => { fields[k][corner.n].value = shown(v); });

  for (const corner of corners) {
    const group = corner.group;
    group.setAttribute("tabindex", "0");
    group.setAttribute("role", "button");
    label(corner);
    group.addEventListener("pointerdown", (event) => {
      if (event.button) return;
      group.setPointerCapture(event.pointerId);
      const ctm = group.ownerSVGElement.getScreenCTM();
      const start = at(corner);
      const from = [event.clientX, event.clientY];
      const first = apply(map, start);
      const begun = corner.now;
      const move = (e) => {
        const px = [start[0] + (e.clientX - from[0]) / ctm.a, start[1] + (e.clientY - from[1]) / ctm.d];
        const mm = apply(map, px);
        put(corner, begun.map((v, k) => v + mm[k] - first[k]));
        type(corner);
      };
      const leave = () => ["pointermove", "pointerup", "pointercancel"].forEach((name) => group.removeEventListener(name, name === "pointermove" ? move : leave));
      group.addEventListener("pointermove", move);
      group.addEventListener("pointerup", leave);
      group.addEventListener("pointercancel", leave);
    });
    group.addEventListener("keydown", (event) => {
      const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
      if (event.key === "Escape") put(corner, corner.mm);
      else if (way) {
        event.preventDefault();
        const step = event.shiftKey ? FINE_MM : STEP_MM;
        put(corner, corner.now.map((v, k) => v + way[k] * step));
      } else return;
      type(corner);
    });
    fields.forEach((f) => f[corner.n].addEventListener("input", () => {
      const mm = fields.map((g) => read(g[corner.n].value));
      if (mm.every(Number.isFinite)) put(corner, mm);
    }));
  }
}

function apply(m, [x, y]) {
  const w = m[6] * x + m[7] * y + m[8];
  return [(m[0] * x + m[1] * y + m[2]) / w, (m[3] * x + m[4] * y + m[5]) / w];
}

function inverse([a, b, c, d, e, f, g, h, i]) {
  return [e * i - f * h, c * h - b * i, b * f - c * e, f * g - d * i, a * i - c * g, c * d - a * f, d * h - e * g, b * g - a * h, a * e - b * d];
}
