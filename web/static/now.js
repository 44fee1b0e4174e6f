// Now, kept present: asks every few seconds, changes only what changed, says so when nobody answers.
"use strict";
(() => {
  const EVERY_MS = 3000, SILENT_MS = 10000;
  const body = document.body;
  const spoken = document.querySelector("[data-spoken]");
  const texts = new Map([...document.querySelectorAll("[data-text]")].map((e) => [e.dataset.text, e]));
  const blocks = new Map([...document.querySelectorAll("[data-block]")].map((e) => [e.dataset.block, e]));
  const shown = new Map();
  let heard = Date.now();
  let lastHeard = new Date();
  let wordless = bare(texts.get("sentence").textContent);
  let alerts = null;

  // A sentence without its figures: what is worth saying aloud is the words, not each degree.
  function bare(sentence) {
    return sentence.replace(/[\d.,:]+/g, "");
  }

  function put(element, text) {
    if (element && element.textContent !== text) element.textContent = text;
  }

  function replace(name, html) {
    const element = blocks.get(name);
    if (!element || shown.get(name) === html) return;
    shown.set(name, html);
    const held = element.contains(document.activeElement) ? document.activeElement.id : "";
    const unfolded = [...element.querySelectorAll("details[open]")].map((e) => e.id);
    element.innerHTML = html;
    for (const id of unfolded) document.getElementById(id)?.setAttribute("open", "");
    if (held) document.getElementById(held)?.focus();
  }

  function say(now) {
    const words = bare(now.texts.sentence);
    if (words !== wordless) {
      wordless = words;
      put(spoken, now.texts.sentence);
    }
    if (alerts !== null && now.blocks.alerts !== alerts) {
      const said = [...blocks.get("alerts").querySelectorAll("article.woken, article.alert:not(.over)")]
        .map((e) => e.querySelector(".head").textContent + ". " + e.querySelector(".said").textContent);
      put(spoken, said.join(" ") || now.texts.sentence);
    }
    alerts = now.blocks.alerts;
  }

  // A button that is replaced under the thumb takes no tap: while one is down nothing changes.
  let pressed = false;
  document.addEventListener("pointerdown", () => { pressed = true; });
  for (const end of ["pointerup", "pointercancel"]) {
    document.addEventListener(end, () => setTimeout(() => { pressed = false; }, 400));
  }

  function show(now) {
    if (pressed) return;
    if (now.readable && String(now.firing_id ?? "") !== (body.dataset.firing ?? "")) {
      location.replace("./");
      return;
    }
    for (const [name, text] of Object.entries(now.texts)) put(texts.get(name), text);
    for (const [name, html] of Object.entries(now.blocks)) replace(name, html);
    say(now);
    if (location.search && !now.texts.asked) history.replaceState(null, "", "./");
    body.classList.toggle("stale", now.stale);
    document.title = `${now.title} · Lehrling`;
    document.dispatchEvent(new CustomEvent("lehrling:now", { detail: now }));
  }

  function silent() {
    if (Date.now() - heard < SILENT_MS) return;
    const since = lastHeard.toTimeString().slice(0, 8);
    put(texts.get("sentence"), `This page can’t reach Lehrling since ${since}.`);
    put(texts.get("stale"), "What stands here is from then. Read the kiln’s own display, and look whether the network is there.");
    put(texts.get("movement"), "then");
    put(texts.get("plan"), "");
    document.title = "No word · Lehrling";
    body.classList.add("stale");
  }

  async function look() {
    try {
      const answer = await fetch("./now.json" + location.search, { signal: AbortSignal.timeout(8000) });
      if (answer.status === 401) location.reload();
      if (answer.status === 503 && body.dataset.firing !== undefined) throw new Error("not started");
      if (!answer.ok) throw new Error(String(answer.status));
      show(await answer.json());
      heard = Date.now();
      lastHeard = new Date();
    } catch {
      silent();
    }
    setTimeout(look, EVERY_MS);
  }

  setInterval(silent, 1000);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) silent(); });
  look();
})();
