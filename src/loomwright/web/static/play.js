// Plays a fault in time on the diagram: one step after the other, or the one that is pressed.
import { mark } from "./diagram.js";

const PAUSE_MS = 1200;

export function play() {
  const list = document.getElementById("steps");
  if (!list || list.dataset.ready) return;
  list.dataset.ready = "1";
  const steps = [...list.querySelectorAll("li")];
  const show = (n) => {
    const box = document.querySelector("#diagram .drawing");
    steps.forEach((step, k) => step.querySelector("button").setAttribute("aria-pressed", String(k === n)));
    if (box) mark(box, JSON.parse(steps[n].dataset.marks));
  };
  steps.forEach((step, n) => step.querySelector("button").addEventListener("click", () => show(n)));
  show(steps.length - 1);
  let timer = 0;
  document.getElementById("play")?.addEventListener("click", () => {
    clearInterval(timer);
    let n = 0;
    show(0);
    timer = setInterval(() => {
      n += 1;
      if (n >= steps.length) clearInterval(timer); else show(n);
    }, PAUSE_MS);
  });
}
