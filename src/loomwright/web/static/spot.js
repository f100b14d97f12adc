// Touching a photograph fills in where the spot is.
export function spots() {
  for (const picture of document.querySelectorAll("svg.photo:not([data-ready])")) {
    picture.dataset.ready = "1";
    picture.addEventListener("click", (event) => {
      const form = document.querySelector(`form[data-marks-photo="${CSS.escape(picture.dataset.photo)}"]`);
      const room = picture.getBoundingClientRect();
      const set = (name, value) => { form.elements[name].value = Math.min(100, Math.max(0, value)).toFixed(1); };
      set("x_pct", ((event.clientX - room.left) / room.width) * 100);
      set("y_pct", ((event.clientY - room.top) / room.height) * 100);
      form.closest("details").open = true;
      form.elements.text.focus();
      aim(picture, form);
    });
  }
}

function aim(picture, form) {
  const [, , width, height] = picture.getAttribute("viewBox").split(" ").map(Number);
  let ring = picture.querySelector(".aim");
  if (!ring) {
    ring = document.createElementNS("http://www.w3.org/2000/svg", "circle");
    ring.setAttribute("class", "aim");
    picture.append(ring);
  }
  ring.setAttribute("cx", (form.elements.x_pct.value * width) / 100);
  ring.setAttribute("cy", (form.elements.y_pct.value * height) / 100);
  ring.setAttribute("r", Math.max(width, height) / 24);
}
