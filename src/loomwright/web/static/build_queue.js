// What was done on this phone and is not at the server yet: kept on the phone, sent one by one in its order, kept there once.
const NAME = "loomwright-build";
const FIRST_MS = 1000;
const MOST_MS = 60000;
const REFUSED = [409, 413, 422];

let base = null;
let memory = [];
let count = 0;
export let durable = true;

async function open() {
  if (base) return base;
  base = await new Promise((done, failed) => {
    const asked = indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore("queue", { keyPath: "seq", autoIncrement: true });
      asked.result.createObjectStore("kept");
    };
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });
  return base;
}

async function use(store, mode, work) {
  const db = await open();
  return new Promise((done, failed) => {
    const act = db.transaction(store, mode, mode === "readwrite" ? { durability: "strict" } : {});
    const asked = work(act.objectStore(store));
    act.oncomplete = () => done(asked?.result);
    act.onerror = act.onabort = () => failed(act.error);
  });
}

// A browser that keeps nothing still sends; the page says that it must stay open.
async function attempt(work, instead) {
  if (durable) {
    try { return await work(); } catch { durable = false; }
  }
  return instead();
}

export const waiting = (where) => attempt(
  async () => (await use("queue", "readonly", (s) => s.getAll())).filter((a) => a.where === where),
  () => memory.filter((a) => a.where === where),
);
const add = (act) => attempt(() => use("queue", "readwrite", (s) => s.add(act)), () => { memory.push({ ...act, seq: ++count }); });
const put = (act) => attempt(() => use("queue", "readwrite", (s) => s.put(act)), () => { memory = memory.map((a) => (a.seq === act.seq ? act : a)); });
const drop = (seq) => attempt(() => use("queue", "readwrite", (s) => s.delete(seq)), () => { memory = memory.filter((a) => a.seq !== seq); });
export const keep = (where, value) => attempt(() => use("kept", "readwrite", (s) => s.put(value, where)), () => {});
export const kept = (where) => attempt(() => use("kept", "readonly", (s) => s.get(where)), () => undefined);

export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((b) => b.toString(16).padStart(2, "0")).join("");
}

// One queue for one page. `told` is called whenever something of it has changed; `saved` with each act that the server has.
export class Queue {
  constructor(where, token, told, saved) {
    Object.assign(this, { where, token, told, saved, wait: FIRST_MS, timer: 0, busy: false, again: false, trouble: "" });
    window.addEventListener("online", () => this.now());
    document.addEventListener("visibilitychange", () => { if (!document.hidden) this.now(); });
  }

  async put(act) {
    await add({ where: this.where, ...act });
    await this.told();
    this.now();
  }

  async retry(seq) {
    const act = (await waiting(this.where)).find((a) => a.seq === seq);
    if (act) await put({ ...act, refused: "" });
    await this.told();
    this.now();
  }

  async forget(seq) {
    await drop(seq);
    await this.told();
  }

  now() {
    this.wait = FIRST_MS;
    clearTimeout(this.timer);
    this.flush();
  }

  // Sends what waits, first come first. Whatever fails for want of a connection is tried again, after twice the time.
  async flush() {
    if (this.busy) { this.again = true; return; }
    this.busy = true;
    try {
      do {
        this.again = false;
        for (;;) {
          const act = (await waiting(this.where)).find((a) => !a.refused);
          if (!act) { this.trouble = ""; break; }
          if (!await this.send(act)) { this.later(); break; }
          this.wait = FIRST_MS;
        }
      } while (this.again);
    } finally {
      this.busy = false;
    }
    await this.told();
  }

  later() {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.flush(), this.wait);
    this.wait = Math.min(2 * this.wait, MOST_MS);
  }

  async send(act, again = true) {
    const form = new FormData();
    for (const name of ["id", "step", "kind", "by", "at", "measure", "value", "unit", "text", "of", "place", "caption"]) {
      if (act[name] !== undefined && act[name] !== "") form.append(name, act[name]);
    }
    if (act.photo) form.append("file", new Blob([act.photo], { type: act.type }), "photograph");
    let answer;
    try {
      answer = await fetch(`${this.where}/act`, { method: "POST", body: form, headers: { accept: "application/json", "x-write-token": this.token } });
    } catch {
      this.trouble = "No connection.";
      return false;
    }
    if (answer.ok) {
      const { data } = await answer.json();
      this.saved(data.act);
      await drop(act.seq);
      await this.told();
      return true;
    }
    if (answer.status === 403 && again && await this.renew()) return this.send(act, false);
    if (REFUSED.includes(answer.status)) {
      await put({ ...act, refused: await reason(answer) });
      await this.told();
      return true;
    }
    this.trouble = answer.status === 401 ? "This phone is no longer paired: open the address of the shop's screen." : "The server cannot keep it now.";
    return false;
  }

  // A page that was kept carries a token that may be out of date: the server gives a new one.
  async renew() {
    try {
      const answer = await fetch("/settings", { headers: { accept: "text/html" } });
      const found = (await answer.text()).match(/<meta name="write-token" content="(\w+)">/);
      if (found) this.token = found[1];
      return Boolean(found);
    } catch {
      return false;
    }
  }
}

async function reason(answer) {
  try {
    const { error } = await answer.json();
    const first = error.problems[0];
    return [first.received && `${first.place}: ${first.received}.`, first.remedy].filter(Boolean).join(" ");
  } catch {
    return `The server refused it (${answer.status}).`;
  }
}
