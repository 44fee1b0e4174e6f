// The interactive plot: laid over the server's drawing once plotly's script is there, in the page's own inks.
"use strict";
(() => {
  const home = document.querySelector("[data-trace]");
  if (!home) return;
  const plot = home.querySelector("[data-plot]");
  const cursor = home.querySelector("[data-cursor]");
  const readout = home.querySelector("[data-readout]");
  const room = () => plot.parentElement.clientWidth;
  const coarse = matchMedia("(pointer: coarse)");
  const dark = matchMedia("(prefers-color-scheme: dark)");
  const STEPS_MIN = [5, 15, 30, 60, 120, 180, 240, 360, 720, 1440];
  const RANGE_NAME_PX = 12, RANGE_ROOM_PX = 90;
  const CHAR_PX = 6.2, SHAPE_PX = 7, APART_PX = 9;
  const LEAST_S = 600;
  const HEIGHT = { wide: 420, narrow: 300 };
  const WIDTH = { wide: 1080, narrow: 360 };
  const LEFT = { wide: 64, narrow: 44 };
  let latest = null, closer = null, drawn = false, drawnTo = -1, drawnAlerts = "", busy = false;

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

  // The words of alerts that lie over no other words and over no mark; the rest are in the log, and in the readout.
  function labelled(data, range, width) {
    const at = (t) => (t - range[0]) / (range[1] - range[0]) * width;
    const marks = data.filter((t) => t.customdata && t.name !== "measured").flatMap((t) => t.x);
    const taken = marks.map((t) => [at(t) - SHAPE_PX, at(t) + SHAPE_PX]);
    return data.map((trace) => {
      if (trace.mode !== "markers+text") return trace;
      if (size() === "narrow") return { ...trace, mode: "markers" };
      const sides = trace.x.map((t, i) => {
        const long = trace.text[i].trim().length * CHAR_PX;
        return [["middle right", at(t) + APART_PX], ["middle left", at(t) - APART_PX - long]].find(([, from]) => {
          const fits = from >= 0 && from + long <= width && taken.every(([a, b]) => from + long <= a || from >= b);
          if (fits) taken.push([from, from + long]);
          return fits;
        });
      });
      return {
        ...trace, text: trace.text.map((words, i) => (sides[i] ? words : "")),
        textposition: sides.map((side) => (side ? side[0] : "middle right")),
      };
    });
  }

  // The first day's date needs room, as the others do. The names of the ranges stand at the right; where the line runs
  // under one, at the left, or nowhere.
  function cleared(annotations, data, range, width, height, top) {
    const line = data.find((t) => t.name === "measured");
    const px = (t) => (t - range[0]) / (range[1] - range[0]) * width;
    const under = (y, from, to) => line.x.some((t, i) => (
      line.y[i] !== null && px(t) >= from && px(t) <= to && Math.abs(line.y[i] - y) / top * height < RANGE_NAME_PX));
    return annotations.filter((note) => {
      if (note.name === "day" && size() !== "wide") note.text = note.text.split(",")[0];
      if (note.name !== "range") return true;
      if (!under(note.y, width - RANGE_ROOM_PX, width)) return true;
      Object.assign(note, { x: 0.005, xanchor: "left" });
      return !under(note.y, 0, RANGE_ROOM_PX);
    });
  }

  async function draw() {
    if (!latest || !window.Plotly) return;
    const inks = getComputedStyle(document.documentElement);
    const { layout, span_s } = latest.figure;
    const range = (drawn && plot._fullLayout?.xaxis.autorange === false && zoomed()) || [0, span_s];
    const { scale, tickvals, ticktext } = axis(latest.figure, range);
    const data = closer ? latest.figure.data.map((t) => (t.name === "measured" ? closer : t)) : latest.figure.data;
    const own = structuredClone(layout);
    const shown = labelled(data, range, room() - (LEFT[size()] + 10) * scale);
    own.margin = { l: LEFT[size()] * scale, r: 10 * scale, t: 10 * scale, b: 46 * scale, pad: 0 };
    own.width = room();
    own.height = HEIGHT[size()] * scale;
    own.xaxis.range = range;
    own.annotations = cleared(own.annotations, data, range, room() - (LEFT[size()] + 10) * scale,
      own.height - 56 * scale, own.yaxis.range[1] - own.yaxis.range[0]);
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
        if (!Object.keys(change).some((key) => key.startsWith("xaxis.range") || key === "xaxis.autorange")) return;
        const shown = zoomed();
        if (closer && !(shown && shown[0] >= closer.x[0] && shown[1] <= closer.x.at(-1))) closer = null;
        requestAnimationFrame(draw);
        strips();
      });
      plot.on("plotly_hover", ({ points }) => {
        const told = points.filter((p) => p.data.customdata);
        const best = told.find((p) => p.data.name !== "measured") ?? told[0];
        readout.textContent = best ? best.customdata : "";
        point(best);
      });
      plot.on("plotly_unhover", () => {
        readout.textContent = "";
        point(null);
      });
      byHand();
    }
  }

  // A hairline where the readout is taken.
  function point(at) {
    cursor.hidden = !at;
    if (!at) return;
    const { t, h } = plot._fullLayout._size;
    cursor.style.left = `${(at.xaxis._offset + at.xaxis.l2p(at.x)).toFixed(1)}px`;
    cursor.style.top = `${t}px`;
    cursor.style.height = `${h}px`;
  }

  // The strip shows the same stretch as the plot under it; the plot's own line is read anew for it, finer.
  let asked = 0;
  function strips() {
    const mine = ++asked;
    setTimeout(async () => {
      if (mine !== asked) return;
      const shown = zoomed();
      if (!shown) {
        if (closer) {
          closer = null;
          draw();
        }
        return lay(latest.strip);
      }
      const answer = await fetch(`${home.dataset.strips}?from=${shown[0].toFixed(0)}&to=${shown[1].toFixed(0)}`);
      if (!answer.ok || mine !== asked) return;
      const found = await answer.json();
      if (mine !== asked) return;
      lay(found.strip);
      closer = found.measured;
      draw();
    }, 120);
  }

  function lay(strip) {
    for (const [name, svg] of Object.entries(strip)) home.querySelector(`[data-strip="${name}"]`).innerHTML = svg;
  }

  // Closer, wider and aside by buttons and by keys, as by drawing a stretch with the mouse.
  function move(how) {
    const span = latest.figure.span_s;
    const [from, to] = zoomed() ?? [0, span];
    const middle = (from + to) / 2, half = (to - from) / 2;
    const [centre, reach] = {
      in: [middle, Math.max(half / 2, LEAST_S / 2)], out: [middle, half * 2], left: [middle - half, half],
      right: [middle + half, half], all: [span / 2, span / 2],
    }[how];
    const width = Math.min(2 * reach, span);
    const first = Math.min(Math.max(centre - width / 2, 0), span - width);
    window.Plotly.relayout(plot, { "xaxis.range": [first, first + width] });
  }

  const KEYS = { "+": "in", "=": "in", "-": "out", ArrowLeft: "left", ArrowRight: "right", 0: "all", Escape: "all" };

  function byHand() {
    const row = home.querySelector("[data-zooms]"), traces = plot.parentElement;
    row.addEventListener("click", ({ target }) => {
      if (target.dataset.zoom) move(target.dataset.zoom);
    });
    traces.tabIndex = 0;
    traces.setAttribute("role", "group");
    traces.setAttribute("aria-label", "The trace. Plus and minus come closer and go wider, the arrows move along it, 0 shows all.");
    traces.addEventListener("keydown", (event) => {
      const how = KEYS[event.key];
      if (!how || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      move(how);
    });
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
      // The page came with a drawing: a fresh one is fetched only where the plot is still missing later.
      const answer = await fetch(home.dataset.trace + (drawn || !latest ? "" : "?drawing=1"));
      if (!answer.ok) return;
      const before = latest?.figure.span_s;
      latest = await answer.json();
      drawnTo = latest.last_s;
      if (before !== undefined) plot.dataset.span = String(before);
      if (!drawn || !zoomed()) lay(latest.strip);
      else strips();
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
