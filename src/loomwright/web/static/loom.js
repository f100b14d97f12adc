// The loom: a wire that is chosen lights up in every section, at every contact, in every list.
const namesIn = (element) => (element.dataset.wires || "").split("\n");

// Marks every place of a wire; none for an empty name.
export function shine(wire, item = "") {
  for (const place of document.querySelectorAll("[data-item]")) place.classList.toggle("lit", item !== "" && place.dataset.item === item);
  for (const place of document.querySelectorAll("[data-wires]")) place.classList.toggle("lit", wire !== "" && namesIn(place).includes(wire));
  for (const group of document.querySelectorAll(".cut g[data-ref]")) {
    const lit = wire !== "" && group.dataset.ref === wire;
    group.classList.toggle("lit", lit);
    group.setAttribute("aria-pressed", String(lit));
  }
}

// Wires of a section can be pressed, and gone through by the arrow keys: one stop of the tabulator for each section.
export function sections() {
  for (const cut of document.querySelectorAll(".cut:not([data-ready])")) {
    cut.dataset.ready = "1";
    const wires = [...cut.querySelectorAll("g.wire[data-ref]")];
    wires.forEach((group, n) => {
      group.setAttribute("role", "button");
      group.setAttribute("tabindex", n === 0 ? "0" : "-1");
      group.addEventListener("click", () => press(group));
      group.addEventListener("keydown", (event) => {
        if (event.key === "Enter" || event.key === " ") { event.preventDefault(); press(group); }
        const way = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
        if (!way) return;
        event.preventDefault();
        const next = wires[(n + way + wires.length) % wires.length];
        group.setAttribute("tabindex", "-1");
        next.setAttribute("tabindex", "0");
        next.focus();
      });
    });
  }
  const asked = new URL(location.href).searchParams;
  shine(asked.get("wire") || "", asked.get("item") || "");
}

function press(group) {
  document.dispatchEvent(new CustomEvent("bench:open", { detail: `${location.pathname}?wire=${encodeURIComponent(group.dataset.ref)}` }));
}
