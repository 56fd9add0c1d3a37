"use strict";
// What if: the figures follow a slider or what is typed; the server works them out. Without this script a button does it.
(() => {
  const form = document.querySelector("form.what-if");
  if (!form) return;
  document.documentElement.classList.add("with-script");
  const pause = 60;
  const one = (name) => document.querySelector(`[data-${name}]`);
  const rows = [...form.querySelectorAll("tbody tr")];
  const typedOf = (row) => row.querySelector("input[type=text]");
  const sliderOf = (row) => row.querySelector("input[type=range]");
  const movedIn = (row) => typedOf(row).value.trim() !== row.dataset.base && typedOf(row).value.trim() !== "";
  let timer = 0;
  let asked = null;

  function element(name, text, className = "", attributes = {}) {
    const made = document.createElement(name);
    made.textContent = text;
    made.className = className;
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    return made;
  }

  function tableRow(told) {
    const made = element("tr", "", "", { role: "row" });
    made.append(element("th", told.name, "", { scope: "row", role: "rowheader" }));
    const cells = [["Unit", told.unit, ""], ["Today", told.base, "n"], ["Then", told.then, "n"], ["Change", told.change, "n"]];
    for (const [label, text, className] of cells) made.append(element("td", text, className, { role: "cell", "data-label": label }));
    return made;
  }

  function refuse(sentence) {
    one("refused").textContent = sentence;
    one("refused").hidden = false;
    one("table").hidden = true;
    one("money").textContent = "No answer to this.";
    one("warnings").replaceChildren();
    one("kept").replaceChildren();
  }

  function show(answer) {
    one("refused").hidden = true;
    one("money").textContent = answer.money || (answer.rows.length ? "" : "Nothing is changed yet.");
    one("warnings").replaceChildren(...answer.warnings.map((w) => {
      const made = element("li", "");
      made.append(element("strong", "Beyond a limit: "), w);
      return made;
    }));
    one("rows").replaceChildren(...answer.rows.map(tableRow));
    one("table").hidden = !answer.rows.length;
    one("kept").replaceChildren(...Object.entries(answer.changes).map(([name, value]) =>
      element("input", "", "", { type: "hidden", name, value })));
  }

  async function work() {
    if (asked) asked.abort();
    const mine = asked = new AbortController();
    const typed = new URLSearchParams();
    const stand = `&stand=${form.dataset.stand}`;
    for (const row of rows) if (movedIn(row)) typed.set(typedOf(row).name, typedOf(row).value.trim());
    const figure = form.querySelector("input[type=hidden]");
    try {
      const reply = await fetch(`${form.dataset.work}?${typed}${stand}`, { signal: mine.signal, headers: { accept: "application/json" } });
      const answer = await reply.json();
      if (mine !== asked) return;
      const address = new URLSearchParams(typed);
      address.set(figure.name, figure.value);
      history.replaceState(null, "", `${form.getAttribute("action")}?${address}`);
      if (answer.state === "worked") show(answer);
      else refuse(answer.sentence);
    } catch {
      if (mine === asked && !mine.signal.aborted) refuse("The server did not answer; change a value again.");
    }
  }

  function later() {
    clearTimeout(timer);
    timer = setTimeout(work, pause);
  }

  for (const row of rows) {
    const [typed, slider] = [typedOf(row), sliderOf(row)];
    const mark = () => row.toggleAttribute("data-moved", movedIn(row));
    slider.addEventListener("input", () => {
      const step = Number(slider.dataset.step);
      const value = Math.round(Number(slider.value) / step) * step;
      typed.value = String(Number(value.toPrecision(6)));
      mark();
      later();
    });
    slider.addEventListener("keydown", (event) => {
      const step = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 10, PageDown: -10 }[event.key];
      if (!step) return;
      event.preventDefault();
      slider.value = String(Number(slider.value) + step * Number(slider.dataset.step));
      slider.dispatchEvent(new Event("input", { bubbles: false }));
    });
    typed.addEventListener("input", () => {
      const value = Number(typed.value);
      if (typed.value.trim() && Number.isFinite(value)) slider.value = String(value);
      mark();
      later();
    });
    typed.addEventListener("keydown", (event) => {
      if (event.key === "Escape") {
        typed.value = row.dataset.base;
        typed.dispatchEvent(new Event("input", { bubbles: false }));
      } else if (event.key === "Enter") {
        event.preventDefault();
        clearTimeout(timer);
        work();
      }
    });
    mark();
  }
})();
