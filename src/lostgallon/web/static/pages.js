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
      if (answer.status === 401) { keep(form.action, body); return location.assign(answer.headers.get("x-go")); }
      if (later(answer)) throw new Error("not kept there yet");
      write(DRAFT, null);
      if (answer.headers.has("x-go")) return land(answer.headers.get("x-go"));
      show(await answer.text());
    } catch {
      keep(form.action, body);
      banner(say("offline"));
      form.dataset.kept = "1";
    } finally { delete form.dataset.sending; }
  });
  const keep = (action, body) => write(QUEUE, [...read(QUEUE, []), { action, body }]);
  const later = (answer) => answer.status === 429 || answer.status === 503;
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
        /* a session that was opened again has another token */
        const token = document.querySelector("input[name=form_token]")?.value;
        const answer = await send(first.action, first.body.map(([name, value]) => [name, name === "form_token" ? token || value : value]));
        if (answer.status === 401) return location.assign(answer.headers.get("x-go"));
        if (later(answer) || answer.status >= 500) throw new Error("not kept there yet");
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

  /* on a phone, one field in view at a time; everything else of the form is a tap away */
  const steps = () => {
    const form = document.querySelector("form[data-steps]");
    if (!form || !matchMedia("(max-width: 699px)").matches) return;
    const views = [...form.querySelectorAll("[data-view]")], all = (mark) => document.querySelectorAll(mark);
    const text = (view) => view.querySelector("input[type=text]"), whole = form.dataset.steps === "whole";
    const empty = views.findIndex((view) => whole && !text(view) ? "open" in view.dataset : !text(view)?.value), wrong = views.findIndex((view) => view.querySelector("[aria-invalid]"));
    let at = wrong >= 0 ? wrong : empty >= 0 ? empty : 0, more = Boolean(form.querySelector("[data-rest] [aria-invalid]"));
    const show = (focus) => {
      const last = at === views.length - 1, all_at_once = whole && more;
      document.body.classList.toggle("stepped", !all_at_once);
      views.forEach((view, place) => { view.hidden = place !== at && !all_at_once; });
      for (const one of all(".instruction, form[data-steps] [data-first]")) one.hidden = at > 0;
      for (const one of all("form[data-steps] [data-rest]")) one.hidden = !more;
      for (const one of all("[data-more]")) one.hidden = more;
      for (const one of all("form[data-steps] [data-last]")) one.classList.toggle("quiet", !last && !all_at_once);
      for (const one of all("[data-step-keys]")) one.hidden = views.length < 2 || all_at_once;
      for (const one of all("[data-step='1']")) one.hidden = last;
      for (const one of all("[data-step='-1']")) one.disabled = at === 0;
      if (focus) { const one = text(views[at]); if (one) field = one; (one || views[at].querySelector(":checked") || views[at].querySelector("input"))?.focus(); }
    };
    const next = () => { at = Math.min(views.length - 1, at + 1); show(true); };
    /* a choice made with a finger goes on by itself; with keys it waits for Enter */
    let pressed = null;
    form.addEventListener("pointerdown", (event) => { pressed = event.target.closest("[data-choice] label"); });
    form.addEventListener("click", (event) => {
      const step = event.target.closest("[data-step]");
      if (step) { at = Math.min(views.length - 1, Math.max(0, at + Number(step.dataset.step))); show(true); }
      if (event.target.closest("[data-more]")) { more = true; show(false); }
      if (pressed && event.target.matches("[data-choice] input") && event.target.closest("[data-view]") && !(whole && more)) { pressed = null; next(); }
    });
    form.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" || !event.target.closest("[data-view]") || at === views.length - 1 || (whole && more)) return;
      event.preventDefault(); next();
    });
    show(false);
  };

  /* a file dropped anywhere on the page goes to the page's own form for files */
  const target = () => document.querySelector("form[data-files]");
  addEventListener("dragover", (event) => { if (target()) { event.preventDefault(); document.body.classList.add("dropping"); } });
  addEventListener("dragleave", () => document.body.classList.remove("dropping"));
  addEventListener("drop", (event) => {
    const form = target(), files = event.dataTransfer?.files;
    document.body.classList.remove("dropping");
    if (!form || !files?.length) return;
    event.preventDefault();
    const input = form.querySelector("input[type=file]");
    input.files = files;
    for (let around = form.parentElement; around; around = around.parentElement) { if (around.tagName === "DETAILS") around.open = true; const fold = around.parentElement?.querySelector(":scope > .fold"); if (fold && around.classList.contains("more")) fold.checked = true; }
    if (input.hasAttribute("data-at-once")) form.requestSubmit();
    else form.scrollIntoView({ block: "center" });
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
    steps();
    if (read(QUEUE, []).length) { banner(say("offline")); flush(); }
  };
  start();
})();
