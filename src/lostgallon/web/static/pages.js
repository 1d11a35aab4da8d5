/* Small help for pages that work without it: sends a form once even where the connection drops, keeps what was typed,
   counts a wait down, types fractions and units, shows the progress of a file. */
"use strict";
(() => {
  const QUEUE = "lost-gallon-kept", DRAFT = "lost-gallon-typed:" + location.pathname;
  const say = (name) => document.body.dataset[name] || "";
  const banner = (text) => { const bar = document.querySelector(".offline"); bar.textContent = text; bar.hidden = !text; };
  const read = (key, otherwise) => { try { return JSON.parse(localStorage.getItem(key)) ?? otherwise; } catch { return otherwise; } };
  const write = (key, value) => { try { value === null ? localStorage.removeItem(key) : localStorage.setItem(key, JSON.stringify(value)); } catch { /* a full or forbidden store: the form still goes out */ } };
  const send = (action, body) => fetch(action, { method: "POST", body: new URLSearchParams(body), headers: { "x-script": "1" }, credentials: "same-origin" });

  /* one form, one entry: while it is on its way a second tap does nothing */
  document.addEventListener("submit", async (event) => {
    const form = event.target;
    if (!form.matches("form[data-keep]") || event.defaultPrevented) return;
    event.preventDefault();
    if (form.dataset.sending) return;
    form.dataset.sending = "1";
    const body = [...new FormData(form, event.submitter)].filter(([, value]) => typeof value === "string");
    try {
      const answer = await send(form.action, body);
      write(DRAFT, null);
      if (answer.headers.has("x-go")) return land(answer.headers.get("x-go"));
      show(await answer.text());
    } catch {
      write(QUEUE, [...read(QUEUE, []), { action: form.action, body }]);
      banner(say("offline"));
      form.dataset.kept = "1";
    } finally { delete form.dataset.sending; }
  });
  const land = (place) => {
    const there = new URL(place, location.href);
    if (there.pathname + there.search !== location.pathname + location.search) return location.assign(there);
    history.replaceState(null, "", there);
    location.reload();
  };
  const show = (html) => { const next = new DOMParser().parseFromString(html, "text/html"); document.body.replaceChildren(...next.body.children); document.title = next.title; start(); (document.querySelector("[aria-invalid]") || document.querySelector("[role=alert]"))?.scrollIntoView({ block: "center" }); };

  /* what was kept goes out in order, once; the mark in each form makes a repeat harmless */
  let flushing = false;
  const flush = async () => {
    if (flushing || !read(QUEUE, []).length) return;
    flushing = true;
    let place = null;
    try {
      while (read(QUEUE, []).length) {
        const [first, ...rest] = read(QUEUE, []);
        const answer = await send(first.action, first.body);
        if (answer.status >= 500) throw new Error("not kept there yet");
        write(QUEUE, rest);
        place = answer.headers.get("x-go") || place;
        banner(say("sending"));
      }
      write(DRAFT, null);
      banner("");
      place ? land(place) : location.reload();
    } catch { banner(say("offline")); } finally { flushing = false; }
  };
  addEventListener("online", flush);
  setInterval(flush, 4000);

  /* typed text survives a reload */
  const keepDraft = () => { const form = document.querySelector("form[data-draft]"); if (!form) return; write(DRAFT, [...new FormData(form)].filter(([name, value]) => typeof value === "string" && !["form_token", "entry_key"].includes(name))); };
  document.addEventListener("input", (event) => { if (event.target.closest("form[data-draft]")) keepDraft(); });
  const restore = () => {
    const form = document.querySelector("form[data-draft]"), typed = new Map(read(DRAFT, []));
    if (!form || !typed.size) return;
    let changed = false;
    for (const field of form.querySelectorAll("input[type=text], textarea")) {
      if (typed.get(field.name) && !field.value) { field.value = typed.get(field.name); changed = true; }
    }
    if (changed) { const note = document.createElement("p"); note.className = "note"; note.setAttribute("role", "status"); note.textContent = say("restored"); form.prepend(note); }
  };

  /* fractions and units for gloves */
  let field = null;
  document.addEventListener("focusin", (event) => { if (event.target.matches("input[inputmode=decimal]")) field = event.target; });
  document.addEventListener("click", (event) => {
    const key = event.target.closest("[data-key]"), unit = event.target.closest("[data-set-unit]"), share = event.target.closest("[data-share]");
    if (key) { field = field || document.querySelector("input[inputmode=decimal]"); field.value += key.dataset.key; field.focus(); keepDraft(); }
    if (unit) {
      for (const hidden of document.querySelectorAll("[data-unit]")) hidden.value = unit.dataset.setUnit;
      for (const other of document.querySelectorAll("[data-set-unit]")) other.setAttribute("aria-pressed", String(other === unit));
    }
    if (share) navigator.share({ url: new URL(share.dataset.share, location.href).href }).catch(() => {});
  });

  /* a file with its progress */
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.matches("form[data-files]")) return;
    event.preventDefault();
    const bar = form.querySelector("progress"), request = new XMLHttpRequest();
    bar.hidden = false;
    request.upload.onprogress = (step) => { bar.value = step.lengthComputable ? 100 * step.loaded / step.total : 50; };
    request.onload = () => { const place = request.getResponseHeader("x-go"); place ? land(place) : show(request.responseText); };
    request.onerror = () => { bar.hidden = true; banner(say("offline")); };
    request.open("POST", form.action);
    request.setRequestHeader("x-script", "1");
    request.send(new FormData(form));
  });

  /* the wait: counted from the server's seconds, so a wrong clock on the phone does no harm */
  const tick = () => {
    const timer = document.querySelector("[data-seconds]");
    if (!timer) return;
    timer.dataset.start ||= String(performance.now());
    const left = Math.max(0, Math.round(Number(timer.dataset.seconds) - (performance.now() - Number(timer.dataset.start)) / 1000));
    timer.textContent = left ? `${Math.floor(left / 60)}:${String(left % 60).padStart(2, "0")}` : timer.dataset.over;
  };
  setInterval(tick, 1000);

  const start = () => {
    for (const keys of document.querySelectorAll("[data-keys]")) keys.hidden = false;
    if (navigator.share) for (const button of document.querySelectorAll("[data-share]")) button.hidden = false;
    restore();
    if (read(QUEUE, []).length) { banner(say("offline")); flush(); }
  };
  start();
})();
