// The page's own sound, after one tap: a low square wave, long and even, louder while nobody answers.
// Never the three short pulses that mean fire.
"use strict";
(() => {
  const HZ = 520, FIRST = 0.12, LOUDER = 1.4, TICK_MS = 1000;
  const PATTERNS = { wake: [1, 1, 0, 0], runaway: [1, 1, 1, 0] };
  const box = document.querySelector("[data-sound]");
  if (!box) return;
  const words = box.querySelector("[data-sound-words]");
  const button = box.querySelector("button");
  let context = null, gain = null, rings = "", second = 0, loudness = FIRST;

  function say() {
    const state = context === null ? "off" : context.state === "running" ? "on" : "muted";
    if (box.dataset.sound === state) return;
    box.dataset.sound = state;
    words.textContent = box.dataset[state];
    button.textContent = box.dataset[state + "Button"];
  }

  function level(to) {
    gain.gain.setTargetAtTime(to, context.currentTime, 0.01);
    box.dataset.loudness = to.toFixed(2);
  }

  function begin() {
    context = new AudioContext();
    gain = context.createGain();
    gain.gain.value = 0;
    const tone = context.createOscillator();
    tone.type = "square";
    tone.frequency.value = HZ;
    tone.connect(gain).connect(context.destination);
    tone.start();
    context.onstatechange = say;
  }

  function tick() {
    say();
    if (context === null || context.state !== "running") return;
    const pattern = PATTERNS[rings];
    if (!pattern) {
      if (box.dataset.loudness !== "0.00") level(0);
      second = 0;
      loudness = FIRST;
      return;
    }
    level(pattern[second % pattern.length] ? loudness : 0);
    second += 1;
    if (second % pattern.length === 0) loudness = Math.min(1, loudness * LOUDER);
  }

  button.addEventListener("click", async () => {
    if (context !== null && context.state === "running") {
      const left = context;
      context = null;
      say();
      await left.close();
      return;
    }
    if (context === null) begin();
    await context.resume();
    say();
    level(FIRST);                                   // one second, so that it is heard now and not first at night
    setTimeout(() => { if (context && !PATTERNS[rings]) level(0); }, TICK_MS);
  });
  document.addEventListener("lehrling:now", (event) => { rings = event.detail.rings; });
  box.hidden = false;
  setInterval(tick, TICK_MS);
  say();
})();
