// Entries made without signal wait here, on the phone, and arrive exactly once.
// A form with data-outbox="kind" goes through it; other scripts use window.outbox.
"use strict";
(() => {
  const bar = document.getElementById("outbox");
  if (!bar || !("indexedDB" in window)) return;
  const words = bar.dataset;
  const KEEP_ARRIVED = 300; // answers of what arrived, for pages that are older
  const ANSWER_MS = 8000; // longer than this a person at the van does not wait
  const RETRY_MS = 15000;
  const WAITS = new Set(["waiting", "refused", "clash"]);
  let state = ""; // "", "sending", "no-signal", "signed-out"
  let sending = null;
  const listeners = new Set();

  // ---- the phone's own store ----
  let opened = null;
  function open() {
    opened ??= new Promise((resolve, reject) => {
      const ask = indexedDB.open("sillway", 1);
      ask.onupgradeneeded = () => {
        const store = ask.result.createObjectStore("entries", { keyPath: "n", autoIncrement: true });
        store.createIndex("key", "key", { unique: true });
      };
      ask.onsuccess = () => resolve(ask.result);
      ask.onerror = () => reject(ask.error);
    });
    return opened;
  }
  async function run(mode, work) {
    const db = await open();
    return new Promise((resolve, reject) => {
      const change = db.transaction("entries", mode, { durability: "strict" });
      const ask = work(change.objectStore("entries"));
      change.oncomplete = () => resolve(ask?.result);
      change.onerror = change.onabort = () => reject(change.error);
    });
  }
  const all = () => run("readonly", (store) => store.getAll());
  const put = (entry) => run("readwrite", (store) => store.put(entry));
  const drop = async (n) => {
    await run("readwrite", (store) => store.delete(n));
    await tell();
  };
  function newKey() {
    if (crypto.randomUUID) return crypto.randomUUID();
    const b = crypto.getRandomValues(new Uint8Array(16));
    b[6] = (b[6] & 15) | 64;
    b[8] = (b[8] & 63) | 128;
    const hex = [...b].map((x) => x.toString(16).padStart(2, "0")).join("");
    return hex.replace(/(.{8})(.{4})(.{4})(.{4})(.{12})/, "$1-$2-$3-$4-$5");
  }

  // Keep an entry. about: {says, slot, url, file}. Answers it once it is safely on the phone.
  async function add(kind, payload, about = {}) {
    const slot = about.slot || "";
    const before = slot ? (await all()).findLast((one) => one.slot === slot) : undefined;
    const entry = {
      key: newKey(), kind, payload, slot, says: about.says || "", url: about.url || location.pathname,
      file: about.file || null, after: before ? before.key : null,
      account: Number(words.account), name: words.name, at: new Date().toISOString(), state: "waiting",
    };
    entry.n = await run("readwrite", (store) => store.add(entry));
    navigator.storage?.persist?.();
    await tell();
    return entry;
  }

  // ---- sending, one after the other, from one page at a time ----
  function send() {
    sending ??= (navigator.locks ? navigator.locks.request("outbox", sendAll) : sendAll())
      .catch(() => undefined)
      .finally(() => { sending = null; });
    return sending;
  }
  async function sendAll() {
    if (!(await all()).some((one) => one.state === "waiting")) return say("");
    const who = await ask(words.state);
    if (!who) return say("no-signal");
    if (!who.signed_in) return say("signed-out");
    say("sending");
    for (const entry of await all()) {
      if (entry.state !== "waiting") continue;
      if (entry.account !== who.account) continue;
      const stop = await sendOne(entry, who.token);
      await tell();
      if (stop) return say(stop);
    }
    return say("");
  }
  async function ask(url) {
    try {
      const response = await fetch(url, { headers: { Accept: "application/json" } });
      return response.ok ? await response.json() : null;
    } catch { return null; }
  }
  async function sendOne(entry, token) {
    const { key, kind, account, after, payload } = entry;
    const form = new FormData();
    form.set("entry", JSON.stringify({ key, kind, account, after, payload }));
    if (entry.file) form.set("file", entry.file, entry.file.name || "photo.jpg");
    let response, said;
    try {
      response = await fetch(words.entries, {
        method: "POST", body: form, headers: { "X-CSRFToken": token }, redirect: "manual",
      });
      said = await response.json();
    } catch {
      return response?.type === "opaqueredirect" ? "signed-out" : "no-signal";
    }
    if (said.state === "kept") await put({ ...entry, file: null, state: "arrived", answer: said.answer });
    else if (said.state === "refused" || said.state === "clash")
      await put({ ...entry, state: said.state, told: said.says, field: said.field, newest: said.newest });
    else if (said.state === "signed out") return "signed-out";
    else if (said.state !== "not yours") return "no-signal";
    return "";
  }
  async function prune() {
    const done = (await all()).filter((one) => one.state === "arrived");
    for (const one of done.slice(0, -KEEP_ARRIVED)) await run("readwrite", (s) => s.delete(one.n));
  }

  // ---- what the person sees ----
  function say(now) {
    state = now;
    return tell();
  }
  async function tell() {
    const entries = (await all()).filter((one) => WAITS.has(one.state));
    bar.hidden = entries.length === 0;
    const look = entries.filter((one) => one.state !== "waiting").length;
    const says = entries.length === 1 ? words.one : words.many.replace("{n}", entries.length);
    const parts = [says];
    if (look) parts.push(words.look.replace("{n}", look));
    if (state === "sending") parts.push(words.sending);
    if (state === "no-signal") parts.push(words.noSignal);
    if (state === "signed-out") parts.push(words.signedOut);
    const line = bar.querySelector(".outbox-says");
    const text = entries.length ? parts.join(" ") : "";
    if (line.textContent !== text) line.textContent = text;
    const acts = bar.querySelector(".acts");
    acts.replaceChildren(link(words.list, words.show));
    if (state === "signed-out")
      acts.append(link(`${words.signIn}?next=${encodeURIComponent(location.pathname)}`, words.signInNow));
    list(entries);
    for (const one of listeners) one(entries);
  }
  function link(url, text) {
    const a = document.createElement("a");
    a.href = url;
    a.textContent = text;
    return a;
  }
  function button(text, act) {
    const one = document.createElement("button");
    one.type = "button";
    one.textContent = text;
    one.addEventListener("click", act);
    return one;
  }
  function list(entries) {
    const into = document.getElementById("outbox-list");
    if (!into) return;
    document.getElementById("outbox-empty").hidden = entries.length > 0;
    into.replaceChildren(...entries.map(row));
  }
  function row(entry) {
    const li = document.createElement("li");
    const head = document.createElement("h2");
    head.textContent = entry.says || entry.kind;
    const when = document.createElement("p");
    when.textContent = `${new Date(entry.at).toLocaleString(document.documentElement.lang)}, ${words.by} ${entry.name}`;
    const how = document.createElement("p");
    how.className = entry.state === "waiting" ? "" : "notice";
    how.textContent = entry.state === "waiting" ? words.waiting : `${words.refused} ${entry.told || ""}`;
    const acts = document.createElement("p");
    acts.className = "acts";
    const retry = (more) => async () => {
      await put({ ...entry, ...more, key: newKey(), state: "waiting", told: "" });
      await tell();
      send();
    };
    if (entry.state === "clash")
      acts.append(button(words.mine, retry({ after: null, payload: { ...entry.payload, base: entry.newest } })));
    if (entry.state === "refused") acts.append(button(words.again, retry({})));
    acts.append(link(entry.url, words.open));
    acts.append(button(words.drop, () => confirm(words.dropSure) && drop(entry.n)));
    li.append(head, when, how, acts);
    return li;
  }

  // ---- forms ----
  function values(form) {
    const given = {};
    for (const [name, value] of new FormData(form))
      if (typeof value === "string" && name !== "csrfmiddlewaretoken" && name !== "base") given[name] = value;
    return given;
  }
  function fault(form, text, input) {
    let says = form.querySelector(".outbox-fault");
    if (!says) {
      says = document.createElement("p");
      says.className = "errors outbox-fault";
      says.setAttribute("role", "alert");
      says.id = "outbox-fault";
      form.prepend(says);
    }
    says.textContent = text;
    for (const one of form.querySelectorAll("[aria-invalid]")) one.removeAttribute("aria-invalid");
    if (input) {
      input.setAttribute("aria-invalid", "true");
      input.setAttribute("aria-errormessage", says.id);
      input.focus();
    } else says.scrollIntoView();
  }
  const misshapen = (form) =>
    [...form.querySelectorAll("[data-shape]")].find(
      (one) => one.value.trim() && !new RegExp(`^(?:${one.dataset.shape})$`, "i").test(one.value.trim()),
    );

  async function submitted(event) {
    const form = event.target;
    event.preventDefault();
    const pressed = event.submitter;
    const given = values(form);
    if (pressed?.name) given[pressed.name] = pressed.value;
    const wrong = pressed?.hasAttribute("formnovalidate") ? undefined : misshapen(form);
    if (wrong) return fault(form, words.shape, wrong);
    const files = [...form.querySelectorAll("input[type=file]")].flatMap((one) => [...one.files]);
    const payload = JSON.parse(form.dataset.payload || "{}");
    const base = Number(form.elements.base?.value);
    if (base) payload.base = base;
    const about = { says: form.dataset.says, slot: form.dataset.slot };
    const made = [];
    try {
      if (files.length) {
        for (const file of files) {
          const says = `${about.says}: ${file.name}`;
          made.push(await add(form.dataset.outbox, { ...payload, ...given }, { ...about, says, file }));
        }
      } else made.push(await add(form.dataset.outbox, { ...payload, form: given }, about));
    } catch {
      return fault(form, words.full);
    }
    await Promise.race([send(), new Promise((done) => setTimeout(done, ANSWER_MS))]);
    const now = await all();
    const stuck = now.find((one) => made.some((m) => m.n === one.n) && ["refused", "clash"].includes(one.state));
    if (stuck && !files.length) {
      // The person is still here to put it right, so it need not wait in the list.
      await drop(stuck.n);
      if (stuck.state === "clash") form.elements.base.value = stuck.newest;
      const named = stuck.field && form.querySelector(`[data-field="${CSS.escape(stuck.field)}"]`);
      const more = stuck.state === "clash" ? ` ${words.theirs}` : "";
      return fault(form, `${stuck.told}${more}`, named);
    }
    if (form.dataset.next) location.assign(form.dataset.next);
    else form.reset();
  }

  // A page may be older than what was entered on it: show the entry, and start from it.
  async function overlay(form) {
    const slot = form.dataset.slot;
    if (!slot) return;
    const mine = (await all()).findLast((one) => one.slot === slot);
    if (!mine?.payload.form) return;
    const base = form.elements.base;
    const revision = Number(mine.answer?.revision || 0);
    if (mine.state === "arrived" && revision <= Number(base?.value || 0)) return;
    if (form.dataset.fill !== "no") {
      for (const [name, value] of Object.entries(mine.payload.form)) {
        const input = form.elements[name];
        if (input && input.type !== "submit") input.value = value;
      }
    }
    if (mine.state === "arrived" && base) base.value = revision;
    const says = document.createElement("p");
    says.className = "notice";
    says.textContent = mine.state === "arrived" ? words.stale : words.here;
    form.prepend(says);
  }

  for (const form of document.querySelectorAll("form[data-outbox]")) {
    form.addEventListener("submit", submitted);
    overlay(form);
  }
  window.outbox = { add, all, send, drop, onChange: (one) => listeners.add(one) };
  addEventListener("online", send);
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && send());
  setInterval(() => { if (!bar.hidden) send(); }, RETRY_MS);
  tell().then(send).then(prune);
  if (words.account && "serviceWorker" in navigator) navigator.serviceWorker.register("/sw.js");
})();
