"use strict";
(() => {
  const data = document.getElementById("grid");
  const panel = document.getElementById("what-if");
  if (!data || !panel) return;
  const grid = JSON.parse(data.textContent);
  const inputs = grid.axes.map((axis, place) => document.getElementById("axis-" + place));
  const shown = grid.axes.map((axis, place) => document.getElementById("value-" + place));
  const reading = document.getElementById("reading");
  const read = () => {
    let index = 0;
    grid.axes.forEach((axis, place) => {
      const at = Number(inputs[place].value);
      index = index * axis.shown.length + at;
      shown[place].textContent = axis.shown[at];
      inputs[place].setAttribute("aria-valuetext", axis.shown[at]);
    });
    const [verdict, margin, limit] = grid.points[index];
    reading.textContent = grid.verdicts[verdict] + (margin === null ? "" : ": " + margin) + (limit < 0 ? "" : ". Nearest limit: " + grid.limits[limit]);
    reading.classList.toggle("broken", verdict !== 0);
  };
  inputs.forEach((input) => input.addEventListener("input", read));
  document.getElementById("what-if-reset").addEventListener("click", () => {
    grid.axes.forEach((axis, place) => { inputs[place].value = axis.plan; });
    read();
  });
  panel.hidden = false;
  read();
})();
