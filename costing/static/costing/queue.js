// Entries that wait on the tablet while the network is gone. Every form of the spray room is written here first and then
// sent; what the server has answered goes away. They are sent in the order in which they were made, and the key in each form
// makes sure that one that arrives twice acts once. Nothing is thrown away unless a person says so.
"use strict";

(() => {
  const STORE = "entries";
  const ROOM = "/spray-room/";
  const HELLO = "/spray-room/queue/";
  const SIGNED_OUT = "You are signed out. Sign in again to send what waits here.";
  const WORKER = "/spray-room-worker.js";
  const user = () => document.querySelector("[data-user]")?.dataset.user ?? "";

  // ---- the store on the device

  const opened = new Promise((resolve, reject) => {
    const request = indexedDB.open("spray-room", 1);
    request.onupgradeneeded = () => {
      const store = request.result.createObjectStore(STORE, { keyPath: "seq", autoIncrement: true });
      store.createIndex("key", "key", { unique: true });
    };
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

  async function withStore(mode, work) {
    const db = await opened;
    return new Promise((resolve, reject) => {
      const transaction = db.transaction(STORE, mode);
      const request = work(transaction.objectStore(STORE));
      transaction.oncomplete = () => resolve(request?.result);
      transaction.onerror = () => reject(transaction.error);
      transaction.onabort = () => reject(transaction.error);
    });
  }

  const all = () => withStore("readonly", (store) => store.getAll());
  const byKey = (key) => withStore("readonly", (store) => store.index("key").get(key));
  const put = (entry) => withStore("readwrite", (store) => store.put(entry));
  const forget = (seq) => withStore("readwrite", (store) => store.delete(seq));

  // ---- from a form to an entry

  // randomUUID is for secure pages only; the numbers behind it are not.
  function freshKey() {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    bytes[6] = (bytes[6] & 0x0f) | 0x40;
    bytes[8] = (bytes[8] & 0x3f) | 0x80;
    const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-${hex.slice(12, 16)}-${hex.slice(16, 20)}-${hex.slice(20)}`;
  }

  function entryOf(form) {
    const done = form.querySelector(`[name="${form.dataset.doneField}"]`);
    // The time in the field is that of the page; unless somebody wrote another, it was done now.
    if (form.querySelector("[name=device_done]") && done.value === done.defaultValue) {
      form.querySelector("[name=device_done]").value = new Date().toISOString();
    }
    const data = [...new FormData(form)].filter(([name]) => name !== "csrfmiddlewaretoken" && name !== "device_now");
    return {
      key: new FormData(form).get("key"),
      user: user(),
      url: form.getAttribute("action") || location.pathname,
      name: form.dataset.queueName,
      kind: form.dataset.queue,
      group: form.dataset.queueGroup,
      step: form.dataset.queueStep,
      mix: form.dataset.mix ?? "",
      mixed: form.querySelector("[name=mixed]")?.value ?? "",
      made: new Date().toISOString(),
      data,
      words: [],
    };
  }

  async function keep(entry) {
    const earlier = await byKey(entry.key);
    if (earlier) {
      entry.seq = earlier.seq; // mended: it keeps its place
    }
    const later = earlier ? await laterLogs(entry, (seen, place) => Math.max(seen, seenBy(entry) + place)) : [];
    entry.seq = await withStore("readwrite", (store) => [entry, ...later].map((one) => store.put(one))[0]);
    return entry;
  }

  // ---- what was logged before: each log says how many logs of its step its person knew of

  const seenBy = (entry) => Number(entry.data.find(([name]) => name === "seen")?.[1] ?? 0);
  const withSeen = (entry, number) => ({ ...entry, data: entry.data.map(([name, value]) => [name, name === "seen" ? String(number) : value]) });
  const ownLogs = async (url) => (await all()).filter((other) => other.kind === "log" && other.url === url && other.user === user());

  // The logs made after this one counted on it: what they expect is worked out anew.
  async function laterLogs(entry, work) {
    const later = entry.kind === "log" ? (await ownLogs(entry.url)).filter((other) => other.seq > entry.seq) : [];
    return later.map((other, index) => withSeen(other, Math.max(0, work(seenBy(other), index + 1))));
  }

  // ---- who waits for whom

  const stepOf = (entry) => entry.step ?? entry.url;
  const waitsFor = (entry, other) => stepOf(entry) === stepOf(other)
    || entry.data.some(([name, value]) => name === "batch" && value === other.key);

  // The entry that holds back each later one: a refused entry of its step, or of the batch that it was sprayed from.
  function holders(entries, watched) {
    const held = new Map();
    const stopped = [];
    for (const entry of entries) {
      const holder = stopped.find((other) => waitsFor(entry, other));
      if (holder) {
        held.set(entry.seq, held.get(holder.seq) ?? holder);
      }
      if (holder || (entry.words.length && entry.key !== watched)) {
        stopped.push(entry);
      }
    }
    return held;
  }

  // ---- sending

  async function send(entry, token, from) {
    const body = new URLSearchParams(entry.data);
    body.set("device_now", new Date().toISOString());
    const answer = await fetch(entry.url, {
      method: "POST",
      body,
      headers: { "X-CSRFToken": token, "X-Queue": from },
      redirect: "error",
      credentials: "same-origin",
    });
    if (answer.status !== 422 && !answer.ok) {
      throw new Error(`answered ${answer.status}`); // a server in trouble: the entry waits
    }
    return answer.json();
  }

  async function hello() {
    const answer = await fetch(HELLO, { redirect: "manual", credentials: "same-origin", cache: "no-store" });
    if (answer.type === "opaqueredirect") {
      throw new Error(SIGNED_OUT); // to the sign-in page: the network is there, the person is not
    }
    if (!answer.ok) {
      throw new Error(`answered ${answer.status}`);
    }
    return answer.json();
  }

  // One sender at a time in all tabs; where the browser has no locks, the keys alone see to it.
  const alone = (work) => navigator.locks ? navigator.locks.request("spray-room-queue", work) : work();

  // Sends what waits, in order. An entry that is refused holds back only the later ones that wait for it.
  async function flush(watched) {
    return alone(async () => {
      let outcome = null;
      const waiting = (await all()).filter((entry) => entry.user === user());
      if (!waiting.length) {
        await show(); // another tab may have sent them
        return outcome;
      }
      let server;
      try {
        server = await hello();
      } catch (error) {
        await show(error.message === SIGNED_OUT ? SIGNED_OUT : "");
        return outcome;
      }
      if (String(server.user) !== user()) {
        await show("Somebody else is signed in now. Sign in again to send these.");
        return outcome;
      }
      for (const { seq } of waiting) {
        const entries = (await all()).filter((entry) => entry.user === user());
        const entry = entries.find((one) => one.seq === seq); // as it stands now: it may be mended or deleted
        if (!entry || (entry.words.length && entry.key !== watched) || holders(entries, watched).has(seq)) {
          continue;
        }
        try {
          const said = await send(entry, server.token, entry.key === watched ? "page" : "later");
          if (said.ok) {
            await forget(seq);
          } else {
            await put({ ...entry, words: said.words, logged: said.logged });
          }
          if (entry.key === watched) {
            outcome = said;
          }
        } catch {
          break; // the network is gone again: the rest keeps its order
        }
      }
      await show();
      return outcome;
    });
  }

  // ---- what waits, in words

  function element(name, text, attributes = {}) {
    const made = document.createElement(name);
    made.textContent = text;
    for (const [attribute, value] of Object.entries(attributes)) {
      made.setAttribute(attribute, value);
    }
    return made;
  }

  function line(entry, holder) {
    const item = element("li", "");
    const at = new Date(entry.made).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
    item.append(element("strong", entry.name), ` at ${at}`);
    if (entry.words.length) {
      item.append(element("p", `Not taken: ${entry.words.join(" ")}`));
    } else if (holder) {
      item.append(element("p", `Waits for “${holder.name}”, which was not taken. Mend or delete that one first.`));
    } else {
      item.append(element("p", "Sent when the network is back."));
    }
    item.append(
      element("a", "Open and mend", { class: "button button-small", href: `${entry.url}?entry=${entry.key}` }),
      " ",
      element("button", "Delete it", { type: "button", class: "button-small", "data-forget": String(entry.seq) }),
    );
    // The last one, so that a second tap finds no other button in its place.
    if (entry.words.length && Number.isInteger(entry.logged) && !holder) {
      item.append(" ", element("button", "Send it all the same", { type: "button", class: "button-small", "data-confirm-entry": String(entry.seq) }));
    }
    return item;
  }

  async function show(words = "") {
    const box = document.querySelector("[data-queue-box]");
    if (!box) {
      return;
    }
    const entries = (await all()).filter((entry) => entry.user === user());
    const others = (await all()).length - entries.length;
    const drawing = JSON.stringify([words, others, entries]);
    if (drawing === box.drawing) {
      return; // a button that somebody is tapping stays in its place
    }
    box.drawing = drawing;
    box.replaceChildren();
    box.hidden = !entries.length && !others;
    if (entries.length) {
      const stuck = entries.filter((entry) => entry.words.length).length;
      const head = stuck
        ? `${stuck} of ${entries.length} on this tablet must be looked at`
        : `${entries.length} on this tablet, sent as soon as the network is back`;
      const list = element("ul", "", { class: "queue-list" });
      const held = holders(entries);
      list.append(...entries.map((entry) => line(entry, held.get(entry.seq))));
      box.append(element("p", words || head, { class: "queue-head" }), list);
    }
    if (others) {
      box.append(element("p", `${others} of another person wait here too: sign in as that person to send them.`));
    }
  }

  const bySeq = (seq) => withStore("readonly", (store) => store.get(seq));

  // Never while one is on its way: what was taken meanwhile is gone, and there is nothing to change.
  async function change(seq, work) {
    await alone(async () => {
      const entry = await bySeq(seq);
      if (entry) {
        await work(entry);
      }
    });
    await show();
    await flush();
  }

  document.addEventListener("click", async (event) => {
    const { forget: unwanted, confirmEntry: confirmed } = event.target.closest("[data-forget], [data-confirm-entry]")?.dataset ?? {};
    if (confirmed) {
      // A second tap finds it confirmed already.
      await change(Number(confirmed), async (entry) => {
        if (Number.isInteger(entry.logged)) {
          await keep({ ...withSeen(entry, entry.logged), words: [], logged: undefined });
        }
      });
    } else if (unwanted && window.confirm("Delete this entry? It is not sent any more.")) {
      await change(Number(unwanted), async (entry) => {
        const later = await laterLogs(entry, (seen) => seen - 1);
        await withStore("readwrite", (store) => {
          later.forEach((other) => store.put(other));
          return store.delete(entry.seq);
        });
      });
    }
  });

  // ---- forms

  function fill(form, entry) {
    for (const [name, value] of entry.data.filter(([name]) => name !== "seen")) {
      const fields = [...form.querySelectorAll(`[name="${CSS.escape(name)}"]`)];
      for (const field of fields) {
        if (field.type === "radio" || field.type === "checkbox") {
          field.checked = field.value === value;
        } else {
          field.value = value;
        }
      }
    }
    for (const box of form.querySelectorAll("input[type=checkbox]")) {
      box.checked = entry.data.some(([name]) => name === box.name);
    }
    for (const fold of form.querySelectorAll("details")) {
      fold.open = true;
    }
  }

  // A batch that was mixed without network is not on the page yet: offer it all the same, by its key.
  async function offerWaitingBatches(form) {
    if (form.dataset.queue !== "log" || !form.dataset.mix) {
      return;
    }
    const waiting = (await all()).filter((entry) => entry.kind === "mix" && entry.user === user() && entry.mix === form.dataset.mix
      && entry.group === form.dataset.queueGroup && !form.querySelector(`[name=batch][value="${entry.key}"]`));
    if (!waiting.length) {
      return;
    }
    const field = element("fieldset", "", { class: "field field-choices" });
    field.append(element("legend", "Sprayed from (mixed on this tablet)"));
    for (const entry of waiting) {
      const label = element("label", "");
      const choice = element("input", "", { type: "radio", name: "batch", value: entry.key });
      label.append(choice, ` ${entry.mixed} mixed at ${new Date(entry.made).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" })}`);
      field.append(label);
    }
    field.querySelector("input:last-of-type").checked = true;
    form.querySelector(".stack").prepend(field);
  }

  // A mended entry knows of what its page shows now and of the entries made before it.
  async function expect(form, before = Infinity) {
    const seen = form.querySelector("[name=seen]");
    if (seen) {
      const own = (await ownLogs(location.pathname)).filter((other) => other.seq < before).length;
      seen.dataset.shown ??= seen.value; // a reset leaves hidden fields as they are
      seen.value = String(Number(seen.dataset.shown) + own);
    }
  }

  async function prepare(form) {
    const wanted = new URLSearchParams(location.search).get("entry");
    // What was not taken here is mended here: the corrected entry takes its place.
    const entry = wanted ? await byKey(wanted)
      : (await all()).find((other) => other.words.length && other.url === location.pathname && other.user === user());
    if ("answered" in form.dataset) {
      // Shown by the server with what was typed: the same entry, with the same key.
    } else if (entry) {
      fill(form, entry);
      form.prepend(element("p", "This entry waits on the tablet. What you log here takes its place; to start anew, delete it first."));
      form.querySelector("[name=key]").value = entry.key;
      await expect(form, entry.seq);
    } else {
      const key = form.querySelector("[name=key]");
      // A page out of the device's own store was shown before: its key may be used already.
      if (!navigator.onLine || (await byKey(key.value))) {
        key.value = freshKey();
      }
      await expect(form);
    }
    await offerWaitingBatches(form);
    form.addEventListener("submit", (event) => queueIt(event, form));
    form.dataset.ready = "";
  }

  async function queueIt(event, form) {
    if (event.submitter?.name === "preview") {
      return;
    }
    event.preventDefault();
    if ("keeping" in form.dataset) {
      return;
    }
    form.dataset.keeping = "";
    const entry = await keep(entryOf(form));
    const said = await flush(entry.key);
    const left = await byKey(entry.key); // another sending, of this page or of another tab, may have been quicker
    if (said?.ok || !left) {
      location.assign(said?.next ?? ROOM);
    } else if (said || left.words.length) {
      // Shown by the server with every word at its field; the entry waits until it is taken.
      form.querySelector("[name=device_now]").value = new Date().toISOString();
      HTMLFormElement.prototype.submit.call(form);
    } else {
      delete form.dataset.keeping;
      form.reset();
      form.querySelector("[name=key]").value = freshKey();
      const entries = (await all()).filter((one) => one.user === user());
      const holder = holders(entries).get(entry.seq);
      const when = holder ? `It waits for “${holder.name}”, which was not taken.` : "It is sent when the network is back.";
      const told = element("p", `Kept on this tablet: ${entry.name}. ${when}`, { class: "queue-kept" });
      document.querySelector("[data-queue-box]").prepend(told);
      document.querySelector("[data-queue-box]").scrollIntoView();
      await expect(form);
    }
  }

  document.addEventListener("DOMContentLoaded", async () => {
    if ("serviceWorker" in navigator) {
      navigator.serviceWorker.register(WORKER, { scope: "/" }).then(async () => {
        const ready = await navigator.serviceWorker.ready;
        const pages = [...document.querySelectorAll("[data-keep-paths]")].flatMap((box) => box.dataset.keepPaths.trim().split(" "));
        ready.active?.postMessage({ keep: [location.pathname, ...pages] });
      }).catch(() => {}); // without it the queue works all the same; only closed pages do not open without network
    }
    for (const form of document.querySelectorAll("form[data-queue]")) {
      await prepare(form);
    }
    await show();
    await flush();
  });
  // Proposals come from the server: without network there is nobody to ask.
  document.addEventListener("htmx:beforeRequest", (event) => {
    if (!navigator.onLine) {
      event.preventDefault();
    }
  });
  window.addEventListener("online", () => flush());
  window.setInterval(flush, 20000);
})();
