// A chart of dots: the firing nearest to the finger or the pointer is told below it; the arrow keys go from dot to dot.
"use strict";
(() => {
  for (const how of document.querySelectorAll("[data-how]")) how.hidden = false;
  for (const figure of document.querySelectorAll("[data-dots]")) {
    const plot = figure.querySelector("[data-dot-plot]");
    const read = figure.querySelector("[data-read]");
    const rows = new Map();
    for (const row of figure.parentElement.querySelectorAll("[data-row]")) rows.set(Number(row.dataset.row), row);
    const last = rows.size - 1;
    let at = last;

    function look(number) {
      at = Math.min(last, Math.max(0, number));
      const [date, value] = rows.get(at).children;
      read.replaceChildren(date.firstElementChild.cloneNode(true), `: ${value.textContent}`);
      for (const dot of plot.querySelectorAll(".tip")) dot.classList.toggle("looked", Number(dot.dataset.dot) === at);
    }

    // The drawing that is shown: the other one has no size. Where two figures are drawn, both count.
    function nearest({ clientX, clientY }) {
      let best = at;
      let least = Infinity;
      for (const dot of plot.querySelectorAll(".tip")) {
        const box = dot.getBoundingClientRect();
        if (!box.width) continue;
        const across = box.left + box.width / 2 - clientX;
        const away = Math.hypot(across, figure.dataset.dots === "both" ? box.top + box.height / 2 - clientY : 0);
        if (away < least) [best, least] = [Number(dot.dataset.dot), away];
      }
      return best;
    }

    plot.tabIndex = 0;
    plot.setAttribute("role", "group");
    plot.setAttribute("aria-label", `${document.getElementById(figure.getAttribute("aria-labelledby")).textContent}: arrow keys go from firing to firing`);
    plot.addEventListener("pointermove", (event) => look(nearest(event)));
    plot.addEventListener("pointerdown", (event) => look(nearest(event)));
    plot.addEventListener("focus", () => look(at));
    plot.addEventListener("keydown", (event) => {
      const to = { ArrowLeft: at - 1, ArrowRight: at + 1, Home: 0, End: last }[event.key];
      if (to === undefined) return;
      event.preventDefault();
      look(to);
    });
  }
})();
