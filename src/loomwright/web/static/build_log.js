// The list of what was done in a step: ticks, signatures, readings with their verdicts, photographs, notes.

function moment(act) {
  const when = new Date(act.at);
  const time = document.createElement("time");
  time.dateTime = when.toISOString();
  const two = (n) => String(n).padStart(2, "0");
  time.textContent = `${when.getFullYear()}-${two(when.getMonth() + 1)}-${two(when.getDate())} ${two(when.getHours())}:${two(when.getMinutes())}`;
  return time;
}

// What was done, by whom and when, and whether it is at the server yet.
export function words(act) {
  const line = document.createElement("span");
  if (act.kind === "done" || act.kind === "signed") {
    const name = document.createElement("b");
    name.textContent = act.by;
    line.append(act.kind === "done" ? "Done by " : "Signed by ", name, " ");
  } else if (act.kind === "photo") line.append(picture(act), " ");
  else line.append(act.kind === "reading" ? `${number(act.value)}\u2009${act.unit}` : act.text, " ");
  line.append(moment(act), ` ${act.refused ? "refused" : act.waits ? "waits" : "saved"}`);
  return line;
}

const number = (value) => String(value).replace("-", "\u2212");

function picture(act) {
  if (!act.photo && !act.photo_id) return "Photograph";
  const image = document.createElement("img");
  image.alt = `Photograph of step ${document.querySelector(`article[data-step="${CSS.escape(act.step)}"]`).dataset.number}`;
  image.className = "shot";
  if (act.photo) {
    image.src = URL.createObjectURL(new Blob([act.photo], { type: act.type }));
    image.addEventListener("load", () => URL.revokeObjectURL(image.src), { once: true });
  } else image.src = `/photos/${act.photo_id}/small`;
  return image;
}

// Entries that are there already stay as they are, so that a picture is loaded once and focus is not lost.
export function log(list, found, takeBack) {
  const have = new Map([...list.children].map((li) => [li.dataset.stamp, li]));
  list.replaceChildren(...found.map((act) => have.get(stamp(act)) || entry(act, takeBack)));
  list.hidden = !found.length;
}

const stamp = (act) => `${act.id} ${Boolean(act.waits)}`;

function entry(act, takeBack) {
  const li = document.createElement("li");
  li.dataset.stamp = stamp(act);
  li.dataset.act = act.id;
  const back = document.createElement("button");
  back.type = "button";
  back.textContent = "Take back";
  back.setAttribute("aria-label", `Take back: ${{ done: "done by", signed: "signed by", photo: "photograph", note: "note", reading: "reading" }[act.kind]} ${act.kind === "done" || act.kind === "signed" ? act.by : ""}`.trim());
  back.addEventListener("click", () => takeBack(act));
  li.append(words(act), back);
  return li;
}

function verdict(form, value) {
  if (form.dataset.low !== undefined && value < Number(form.dataset.low)) return "too low";
  if (form.dataset.high !== undefined && value > Number(form.dataset.high)) return "too high";
  return "as predicted";
}

export function readings(form, found, takeBack) {
  const mine = found.filter((a) => a.measure === form.dataset.measure);
  const list = form.querySelector(".readings");
  log(list, mine, takeBack);
  for (const [n, li] of [...list.children].entries()) {
    if (li.querySelector(".verdict-word")) continue;
    const said = verdict(form, Number(mine[n].value));
    const mark = document.createElement("strong");
    mark.className = `verdict-word ${said === "as predicted" ? "good" : "bad"}`;
    mark.textContent = `${said === "as predicted" ? "✓" : "▲"} ${said}`;
    li.firstChild.append(" ", mark);
  }
}
