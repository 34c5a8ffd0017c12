
// Entries that wait: a form of the journal is kept in this browser before it is sent, so that it is
// not lost with the connection. Each carries an identifier made here; the house counts it once.
(() => {
  const box = document.getElementById("waits");
  if (!box) return;
  const KEY = "waits";
  const AGAIN = 10_000; // ms until the next try, unless the browser says sooner that it is back
  const PATIENCE = 20_000; // ms that one try may take
  const words = box.dataset;

  const read = () => {
    try { return JSON.parse(localStorage.getItem(KEY)) || []; } catch { return []; }
  };
  const keep = (list) => { localStorage.setItem(KEY, JSON.stringify(list)); show(); };
  const remove = (id) => keep(read().filter((w) => w.id !== id));
  const change = (id, what) => keep(read().map((w) => (w.id === id ? { ...w, ...what } : w)));

  // A UUID of version 7 (RFC 9562, section 5.7), later than the one before.
  let last = 0;
  const identifier = () => {
    last = Math.max(last + 1, Date.now());
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    for (let i = 0; i < 6; i++) bytes[i] = Math.floor(last / 2 ** (8 * (5 - i))) % 256;
    bytes[6] = (bytes[6] & 0x0f) | 0x70;
    bytes[8] = (bytes[8] & 0x3f) | 0x80;
    const hex = [...bytes].map((b) => b.toString(16).padStart(2, "0")).join("");
    return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
  };

  const two = (n) => String(n).padStart(2, "0");
  const day = (d) => `${d.getFullYear()}-${two(d.getMonth() + 1)}-${two(d.getDate())}`;

  // Why a form was not taken, in the words of the page that came instead.
  const why = async (answer) => {
    const text = await answer.text();
    if (!(answer.headers.get("content-type") || "").includes("html")) return text;
    const page = new DOMParser().parseFromString(text, "text/html");
    const said = [...page.querySelectorAll(".error p:not(.next)")].map((p) => p.textContent.trim());
    return said.join(" ") || String(answer.status);
  };

  const send = async (w) => {
    const stop = new AbortController();
    const clock = setTimeout(() => stop.abort(), PATIENCE);
    try {
      const answer = await fetch(w.path, {
        method: "POST",
        body: new URLSearchParams(w.fields),
        headers: { "X-Umbel-Op": w.id, "X-Umbel-Day": w.day },
        redirect: "manual",
        signal: stop.signal,
      });
      const to = answer.headers.get("X-Umbel-To");
      if (to) return { to };
      if (answer.status >= 500 || answer.status === 429 || answer.type === "opaqueredirect") return { later: "" };
      if (answer.status === 403) return { later: await why(answer) };
      return { refused: await why(answer), odd: answer.ok };
    } catch {
      return { later: "" };
    } finally {
      clearTimeout(clock);
    }
  };

  // Sends what waits, one after the other and the first first, until one cannot be sent.
  const run = async () => {
    const done = new Map();
    const seen = new Set();
    for (;;) {
      const w = read().find((x) => !x.refused && !seen.has(x.id));
      if (!w) break;
      seen.add(w.id);
      const end = await send(w);
      if (end.to) { done.set(w.id, end.to); arrived ||= w.later !== undefined; remove(w.id); }
      else if (end.refused !== undefined) change(w.id, { refused: end.refused, odd: end.odd });
      else { change(w.id, { later: end.later }); again(); break; }
    }
    return done;
  };
  let running = null;
  const drain = () => (running ??= run().finally(() => { running = null; }));

  let timer = 0;
  const again = () => { clearTimeout(timer); timer = setTimeout(drain, AGAIN); };

  const button = (text, act) => {
    const b = document.createElement("button");
    b.type = "button";
    b.textContent = text;
    b.addEventListener("click", act);
    return b;
  };
  const line = (w) => {
    const li = document.createElement("li");
    const what = document.createElement("span");
    what.textContent = `${w.label}, ${w.time}`;
    li.append(what);
    if (w.refused) {
      const p = document.createElement("p");
      p.textContent = `${words.refused} ${w.refused}`;
      li.append(p, button(w.odd ? words.sure : words.again, () => {
        const fields = w.odd ? [...w.fields.filter(([k]) => k !== "sure"), ["sure", "yes"]] : w.fields;
        change(w.id, { refused: undefined, odd: undefined, fields });
        drain();
      }));
    }
    li.append(button(words.leave, () => { if (confirm(words.ask)) remove(w.id); }));
    return li;
  };
  let arrived = false;
  const show = () => {
    const list = read();
    box.hidden = list.length === 0 && !arrived;
    const waiting = list.filter((w) => !w.refused).length;
    const not = list.length - waiting;
    const count = (n, one, many) => (n === 1 ? one : many.replace("{n}", n));
    const said = [];
    if (arrived && !list.length) said.push(words.arrived);
    if (waiting) said.push(count(waiting, words.one, words.many));
    if (not) said.push(count(not, words.notOne, words.notMany));
    const hint = list.find((w) => w.later)?.later;
    if (hint) said.push(hint);
    box.querySelector("[role=status]").textContent = said.join(" ");
    box.querySelector("ol").replaceChildren(...list.map(line));
  };

  // What the entry is, in a line: the heading of the page and what was filled in.
  const label = (form, by, data) => {
    const heads = [...document.querySelectorAll("main .title .over, main h1")].map((e) => e.textContent.trim());
    const hidden = new Set([...form.querySelectorAll("input[type=hidden]")].map((e) => e.name));
    const filled = [...data].filter(([k, v]) => v && k !== "known" && !hidden.has(k) && k !== by?.name).map(([, v]) => v);
    if (by && by.name) filled.unshift(by.textContent.trim());
    return [heads.join(", "), filled.join(", ")].filter(Boolean).join(": ").slice(0, 200);
  };

  document.addEventListener("submit", async (e) => {
    const form = e.target;
    const by = e.submitter;
    const said = (name) => by?.getAttribute("form" + name) ?? form.getAttribute(name) ?? "";
    const url = new URL(said("action") || location.href, location.href);
    if (said("method").toLowerCase() !== "post" || url.origin !== location.origin) return;
    // The journal's forms; a file cannot be kept here.
    if (!/\/(log|says|round|look|done|put-off)$/.test(url.pathname) || form.querySelector("input[type=file]")) return;
    const data = new FormData(form);
    if (by?.name) data.append(by.name, by.value);
    const now = new Date();
    const w = {
      id: identifier(), path: url.pathname, fields: [...data], day: day(now),
      time: `${two(now.getHours())}:${two(now.getMinutes())}`, label: label(form, by, data),
    };
    try { keep([...read(), w]); } catch { return; }
    e.preventDefault();
    if (form.dataset.sending) { remove(w.id); return; }
    form.dataset.sending = "yes";
    // Others may be on their way already; this one goes with them or after them.
    const before = running ? await running : new Map();
    const to = before.get(w.id) ?? (await drain()).get(w.id);
    delete form.dataset.sending;
    if (to) {
      const next = new URL(to, location.href);
      if (next.pathname + next.search === location.pathname + location.search) location.reload();
      else location.assign(next);
      return;
    }
    const kept = read().find((x) => x.id === w.id);
    if (kept?.refused) {
      // Nothing was written: the page that says why comes by sending the form as ever.
      remove(w.id);
      if (by?.name) {
        const also = document.createElement("input");
        [also.type, also.name, also.value] = ["hidden", by.name, by.value];
        form.append(also);
      }
      if (by?.hasAttribute("formaction")) form.setAttribute("action", by.getAttribute("formaction"));
      HTMLFormElement.prototype.submit.call(form);
      return;
    }
    form.reset();
    box.focus();
  });

  show();
  if (read().some((w) => !w.refused)) drain();
  addEventListener("online", drain);
  addEventListener("pageshow", (e) => { if (e.persisted) { show(); drain(); } });
  addEventListener("storage", (e) => { if (e.key === KEY) show(); });
  document.addEventListener("visibilitychange", () => { if (!document.hidden) drain(); });
})();
