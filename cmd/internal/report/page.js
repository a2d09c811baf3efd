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

  // Places on the axis across, in the units of the view box.
  const across = (plot) => {
    const d = plot.dataset;
    const [left, right, from, to] = [d.left, d.right, d.from, d.to].map(Number);
    return (v) => {
      if (d.still && v === 0) return Number(d.still);
      const share = d.ratio ? Math.log(v / from) / Math.log(to / from) : (v - from) / (to - from);
      return left + share * (right - left);
    };
  };

  for (const figure of document.querySelectorAll("figure")) {
    const plot = figure.querySelector(".plot");
    const table = figure.querySelector("table");
    if (!plot || !table) continue;
    const at = across(plot);
    const heads = Array.from(table.tHead.rows[0].cells, (c) => c.textContent);
    const rows = Array.from(table.tBodies[0].rows, (row) => {
      const value = row.cells[0].querySelector("data");
      return { place: at(Number(value.value)), texts: Array.from(row.cells, (c) => c.textContent.trim()) };
    }).filter((row) => Number.isFinite(row.place));
    if (rows.length === 0) continue;

    const reading = document.createElement("p");
    reading.className = "reading";
    reading.setAttribute("aria-live", "polite");
    reading.textContent = "Point at the picture, or use its arrow keys, to read numbers off.";
    plot.after(reading);
    const pointer = plot.appendChild(document.createElementNS(svgNS, "path"));
    pointer.setAttribute("class", "pointer");
    const bottom = Number(plot.dataset.bottom);
    let shown = -1;

    const show = (i) => {
      shown = i;
      const { place, texts } = rows[i];
      pointer.setAttribute("d", `M${place} ${bottom}l6 11h-12z`);
      reading.textContent = heads.map((head, k) => `${head} ${texts[k]}`).join(" · ");
    };
    const nearest = (place) => {
      let best = 0;
      rows.forEach((row, i) => {
        if (Math.abs(row.place - place) < Math.abs(rows[best].place - place)) best = i;
      });
      return best;
    };
    const point = (event) => {
      const box = plot.getBoundingClientRect();
      show(nearest((event.clientX - box.left) / box.width * plot.viewBox.baseVal.width));
    };
    plot.addEventListener("pointermove", point);
    plot.addEventListener("pointerdown", point);
    plot.tabIndex = 0;
    plot.addEventListener("keydown", (event) => {
      const step = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
      if (!step) return;
      event.preventDefault();
      show(Math.min(rows.length - 1, Math.max(0, shown + step)));
    });
  }
})();
