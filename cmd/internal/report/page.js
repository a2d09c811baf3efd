// The page is complete without this: it adds a copy button to tables, a
// read-out under each picture, and a closer look at waves.
"use strict";
(() => {
  const svgNS = "http://www.w3.org/2000/svg";

  const add = (parent, name, text) => {
    const e = document.createElement(name);
    e.textContent = text;
    return parent.appendChild(e);
  };

  // Copying: what is copied stands in the page as text.
  for (const box of document.querySelectorAll(".copy")) {
    const text = box.querySelector("pre");
    const tools = box.insertBefore(document.createElement("p"), box.firstChild);
    tools.className = "tools";
    const button = add(tools, "button", "Copy as tab-separated text");
    const said = add(tools, "span", "");
    said.setAttribute("role", "status");
    button.type = "button";
    button.addEventListener("click", async () => {
      try {
        await navigator.clipboard.writeText(text.textContent);
        said.textContent = "copied";
      } catch {
        box.querySelector("details").open = true;
        getSelection().selectAllChildren(text);
        said.textContent = document.execCommand("copy") ? "copied" : "selected: copy it with the keyboard";
      }
    });
  }

  // The axis across: from value to place and back, in units of the view box.
  const axisOf = (plot) => {
    const d = plot.dataset;
    const [left, right, from, to] = [d.left, d.right, d.from, d.to].map(Number);
    const axis = { left, right, from, to };
    axis.place = (v) => {
      if (d.still && v === 0) return Number(d.still);
      const share = d.ratio ? Math.log(v / axis.from) / Math.log(axis.to / axis.from) : (v - axis.from) / (axis.to - axis.from);
      return left + share * (right - left);
    };
    return axis;
  };

  // A read-out: the row of the numbers nearest to the pointer.
  const readOut = (plot, table, axis) => {
    const heads = Array.from(table.tHead.rows[0].cells, (c) => c.textContent);
    const rows = Array.from(table.tBodies[0].rows);
    const values = rows.map((row) => Number((row.cells[0].querySelector("data") ?? { value: row.cells[0].textContent }).value));
    const reading = document.createElement("p");
    reading.className = "reading";
    reading.setAttribute("aria-live", "polite");
    reading.textContent = "Point at the picture, or use its arrow keys, to read numbers off.";
    plot.after(reading);
    const pointer = plot.appendChild(document.createElementNS(svgNS, "path"));
    pointer.setAttribute("class", "pointer");
    let shown = -1;

    const show = (i) => {
      shown = i;
      pointer.setAttribute("d", `M${axis.place(values[i])} ${plot.dataset.bottom}l6 11h-12z`);
      reading.textContent = heads.map((head, k) => `${head} ${rows[i].cells[k].textContent}`).join(" · ");
    };
    const inView = (i) => {
      const place = axis.place(values[i]);
      return place <= axis.right + 1 && (values[i] === 0 || place >= axis.left - 1);
    };
    const point = (event) => {
      const box = plot.getBoundingClientRect();
      const at = (event.clientX - box.left) / box.width * plot.viewBox.baseVal.width;
      let best = -1;
      values.forEach((v, i) => {
        if (inView(i) && (best < 0 || Math.abs(axis.place(v) - at) < Math.abs(axis.place(values[best]) - at))) best = i;
      });
      if (best >= 0) show(best);
    };
    plot.addEventListener("pointermove", point);
    plot.addEventListener("pointerdown", point);
    plot.tabIndex = 0;
    plot.addEventListener("keydown", (event) => {
      const step = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
      const next = shown < 0 ? values.findIndex((_, i) => inView(i)) : shown + step;
      if (!step || !(next in values) || !inView(next)) return;
      event.preventDefault();
      show(next);
    });
    return () => pointer.setAttribute("d", "");
  };

  // A closer look: everything drawn is moved along the axis across.
  const zoom = (plot, axis, hidePointer) => {
    const full = { from: axis.from, to: axis.to };
    const shapes = Array.from(plot.querySelectorAll(".data path"), (path) => ({ path, d: path.getAttribute("d"), offset: Number(path.dataset.offset ?? 0) }));
    const notes = Array.from(plot.querySelectorAll(".note.middle"), (text) => ({ text, x: Number(text.getAttribute("x")) }));
    const grid = plot.querySelector(".across");
    const { left, right } = axis;
    const moved = (x) => axis.place(full.from + (x - left) / (right - left) * (full.to - full.from));

    const ticks = () => {
      for (const old of plot.querySelectorAll(".tick.x")) old.remove();
      const width = (axis.to - axis.from) / 6;
      const power = 10 ** Math.floor(Math.log10(width));
      const step = [1, 2, 5, 10].find((m) => m * power >= width) * power;
      const digits = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
      let d = "";
      for (let i = Math.ceil(axis.from / step); i * step <= axis.to; i++) {
        const x = axis.place(i * step);
        d += `M${x} ${plot.dataset.top}V${plot.dataset.bottom}`;
        const text = plot.appendChild(document.createElementNS(svgNS, "text"));
        const edge = x + (i * step).toFixed(digits).length * 6.5 > plot.viewBox.baseVal.width - 2; // there a label ends inside the picture
        for (const [name, value] of [["class", edge ? "tick x end" : "tick x"], ["x", edge ? plot.viewBox.baseVal.width - 2 : x], ["y", plot.dataset.bottom], ["dy", "1.25em"]]) text.setAttribute(name, value);
        text.textContent = (i * step).toFixed(digits);
      }
      grid.setAttribute("d", d);
    };
    const view = (from, to) => {
      const width = Math.min(to - from, full.to - full.from);
      axis.from = Math.max(full.from, Math.min(from, full.to - width));
      axis.to = axis.from + width;
      for (const { path, d, offset } of shapes) {
        path.setAttribute("d", d.replace(/([ML])(-?[\d.]+) /g, (_, c, x) => `${c}${(moved(x - offset) + offset).toFixed(1)} `));
      }
      let labelled = -Infinity;
      for (const { text, x } of notes) {
        const at = moved(x);
        const room = at >= left && at <= right && at - labelled >= 30;
        if (room) labelled = at;
        text.setAttribute("x", at);
        text.setAttribute("visibility", room ? "visible" : "hidden");
      }
      ticks();
      hidePointer();
    };
    const tools = document.createElement("p");
    tools.className = "tools";
    plot.before(tools);
    const change = (name, scale, shift) => {
      const button = add(tools, "button", name);
      button.type = "button";
      button.addEventListener("click", () => {
        const half = (axis.to - axis.from) / 2;
        const middle = axis.from + half + shift * half;
        view(middle - half * scale, middle + half * scale);
      });
    };
    change("earlier", 1, -1);
    change("later", 1, 1);
    change("closer", 0.5, 0);
    change("wider", 2, 0);
  };

  for (const figure of document.querySelectorAll("figure")) {
    const plot = figure.querySelector(".plot");
    const table = figure.querySelector("table");
    if (!plot || !table || table.tBodies[0].rows.length === 0) continue;
    const axis = axisOf(plot);
    const hidePointer = readOut(plot, table, axis);
    if (plot.dataset.zoom) zoom(plot, axis, hidePointer);
  }
})();
