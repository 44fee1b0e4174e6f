// The interactive plot: laid over the server's drawing once plotly's script is there, in the page's own inks.
"use strict";
(() => {
  const home = document.querySelector("[data-trace]");
  if (!home) return;
  const plot = home.querySelector("[data-plot]");
  const room = () => plot.parentElement.clientWidth;
  const coarse = matchMedia("(pointer: coarse)");
  const dark = matchMedia("(prefers-color-scheme: dark)");
  const STEPS_MIN = [5, 15, 30, 60, 120, 180, 240, 360, 720, 1440];
  const HEIGHT = { wide: 420, narrow: 300 };
  const WIDTH = { wide: 1080, narrow: 360 };
  const LEFT = { wide: 64, narrow: 44 };
  let latest = null, drawn = false, drawnTo = -1, drawnAlerts = "", busy = false;

  const size = () => (matchMedia("(max-width: 700px)").matches ? "narrow" : "wide");

  // Puts the ink of the moment in place of every var(--name).
  function inked(value, inks) {
    if (typeof value === "string") {
      return value.startsWith("var(") ? inks.getPropertyValue(value.slice(4, -1)).trim() : value;
    }
    if (Array.isArray(value)) return typeof value[0] === "object" ? value.map((v) => inked(v, inks)) : value;
    if (value && typeof value === "object") {
      return Object.fromEntries(Object.entries(value).map(([k, v]) => [k, inked(v, inks)]));
    }
    return value;
  }

  // Clock ticks for the stretch in view: as many round hours as there is room for.
  function ticks(clock, from, to, most) {
    const inside = clock.filter(([t]) => t >= from && t <= to);
    for (const step of STEPS_MIN) {
      const round = inside.filter(([, minute]) => minute % step === 0);
      if (round.length <= most) return round;
    }
    return inside.filter(([, minute]) => minute === 0);
  }

  function clock(minute, twelve) {
    const hour = Math.floor(minute / 60), rest = String(minute % 60).padStart(2, "0");
    if (!twelve) return `${String(hour).padStart(2, "0")}:${rest}`;
    return `${(hour + 11) % 12 + 1}${rest === "00" ? "" : ":" + rest} ${hour < 12 ? "am" : "pm"}`;
  }

  function axis(figure, range) {
    const scale = room() / WIDTH[size()];
    const most = Math.max(3, Math.floor((room() - 60) / 62));
    if (!figure.clock.length) return { scale };
    const chosen = ticks(figure.clock, range[0], range[1], most);
    return {
      scale,
      tickvals: chosen.map(([t]) => t),
      ticktext: chosen.map(([, minute, day]) => {
        const time = clock(minute, figure.twelve);
        // A date needs room; on a phone the number of the day will do.
        return day ? `${time}<br>${size() === "wide" ? day : day.split(",")[0]}` : time;
      }),
    };
  }

  async function draw() {
    if (!latest || !window.Plotly) return;
    const inks = getComputedStyle(document.documentElement);
    const { data, layout, span_s } = latest.figure;
    const range = (drawn && plot._fullLayout?.xaxis.autorange === false && zoomed()) || [0, span_s];
    const { scale, tickvals, ticktext } = axis(latest.figure, range);
    const own = structuredClone(layout);
    // On a phone the words of an alert stand below, in the log.
    const shown = data.map((t) => (t.mode === "markers+text" && size() === "narrow" ? { ...t, mode: "markers" } : t));
    own.margin = { l: LEFT[size()] * scale, r: 10 * scale, t: 10 * scale, b: 46 * scale, pad: 0 };
    own.width = room();
    own.height = HEIGHT[size()] * scale;
    own.xaxis.range = range;
    if (tickvals) Object.assign(own.xaxis, { tickvals, ticktext });
    if (coarse.matches) {
      own.dragmode = false;
      own.xaxis.fixedrange = true;
    }
    await window.Plotly.react(plot, inked(shown, inks), inked(own, inks), {
      displayModeBar: false, responsive: false, doubleClick: "reset", scrollZoom: false,
    });
    if (!drawn) {
      drawn = true;
      home.classList.add("plotted");
      plot.on("plotly_relayout", (change) => {
        if ("xaxis.range[0]" in change || "xaxis.range" in change || "xaxis.autorange" in change) requestAnimationFrame(draw);
      });
    }
  }

  function zoomed() {
    const [from, to] = plot._fullLayout.xaxis.range;
    const before = plot.dataset.span ? Number(plot.dataset.span) : latest.figure.span_s;
    return Math.abs(from) < 1 && Math.abs(to - before) < 1 ? null : [from, to];
  }

  async function load() {
    if (busy) return;
    busy = true;
    try {
      const answer = await fetch(home.dataset.trace + (drawn ? "" : "?drawing=1"));
      if (!answer.ok) return;
      const before = latest?.figure.span_s;
      latest = await answer.json();
      drawnTo = latest.last_s;
      if (before !== undefined) plot.dataset.span = String(before);
      for (const [name, svg] of Object.entries(latest.strip)) {
        home.querySelector(`[data-strip="${name}"]`).innerHTML = svg;
      }
      for (const [name, svg] of Object.entries(latest.trace ?? {})) {
        home.querySelector(`[data-drawn="${name}"]`).innerHTML = svg;
      }
      await draw();
    } catch {
      // The server's drawing stays; the next look tries again.
    } finally {
      busy = false;
    }
  }

  // A new reading is worth drawing once it moves the pen by about a pixel, a new alert at once.
  document.addEventListener("lehrling:now", ({ detail: now }) => {
    const alerts = now.blocks.alerts + now.blocks.log.length;
    const step = (latest?.figure.span_s ?? 0) / 700;
    if (now.t_s !== null && (now.t_s - drawnTo > step || alerts !== drawnAlerts)) {
      drawnAlerts = alerts;
      load();
    }
  });
  dark.addEventListener("change", draw);
  let settling = 0;
  addEventListener("resize", () => {
    clearTimeout(settling);
    settling = setTimeout(draw, 150);
  });

  // The server's drawing is painted first; then the script and the figure are fetched side by side.
  requestAnimationFrame(() => setTimeout(() => {
    const script = document.createElement("script");
    script.src = home.dataset.plotly;
    script.async = true;
    script.onload = () => draw();
    document.head.append(script);
    load();
  }));
})();
