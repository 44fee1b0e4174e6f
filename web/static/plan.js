// A plan, drawn and checked while it is typed; nothing is kept before its button is pressed.
"use strict";
(() => {
  const form = document.querySelector("[data-plan]");
  const drawn = document.querySelector("[data-drawn]");
  const wrong = document.getElementById("wrong-steps");
  const read = document.querySelector("[data-read]");
  const steps = document.getElementById("steps");
  let waiting = 0, asked = 0;

  async function draw() {
    const mine = ++asked;
    const typed = new FormData(form);
    try {
      const answer = await fetch(form.dataset.plan, { method: "POST", body: new URLSearchParams(typed) });
      if (!answer.ok || mine !== asked) return;
      const said = await answer.json();
      if (mine !== asked) return;
      wrong.textContent = said.wrong;
      wrong.hidden = !said.wrong;
      steps.toggleAttribute("aria-invalid", Boolean(said.wrong));
      read.innerHTML = said.read;
      if (said.html) drawn.innerHTML = said.html;
      drawn.classList.toggle("stale", !said.html);
    } catch {
      // The form itself still works.
    }
  }
  form.addEventListener("input", () => {
    clearTimeout(waiting);
    waiting = setTimeout(draw, 350);
  });
})();
