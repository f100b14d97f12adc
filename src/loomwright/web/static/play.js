// Plays a list of steps in time: one after the other, or the one that is pressed.
import { mark } from "./diagram.js";

const PAUSE_MS = 1200;

export function play() {
  const box = () => document.querySelector("#diagram .drawing");
  steps("steps", "play", (step) => { if (box()) mark(box(), JSON.parse(step.dataset.marks)); });
  steps("moments", "play-turn", now);
}

function steps(id, button, put) {
  const list = document.getElementById(id);
  if (!list || list.dataset.ready) return;
  list.dataset.ready = "1";
  const all = [...list.querySelectorAll("li")];
  let timer = 0;
  const show = (n) => {
    all.forEach((step, k) => step.querySelector("button").setAttribute("aria-pressed", String(k === n)));
    put(all[n]);
  };
  all.forEach((step, n) => step.querySelector("button").addEventListener("click", () => { clearInterval(timer); show(n); }));
  show(all.length - 1);
  document.getElementById(button)?.addEventListener("click", () => {
    clearInterval(timer);
    let n = 0;
    show(0);
    timer = setInterval(() => {
      n += 1;
      if (n >= all.length) clearInterval(timer); else show(n);
    }, PAUSE_MS);
  });
}

// The upright on a timeline that says where one is; its ends are those of the chart.
function now(step) {
  const chart = document.querySelector("#timeline svg");
  if (!chart) return;
  const [, , , high] = chart.getAttribute("viewBox").split(" ").map(Number);
  const line = chart.querySelector(".now") || chart.appendChild(document.createElementNS(chart.namespaceURI, "line"));
  line.setAttribute("class", "now");
  line.setAttribute("y1", 9);
  line.setAttribute("y2", high - 8);
  for (const end of ["x1", "x2"]) line.setAttribute(end, step.dataset.at);
}
