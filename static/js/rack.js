// A drawn rack by keyboard: one stop for Tab, arrows from hole to hole, as the WAI-ARIA
// Authoring Practices describe a grid. Without this every hole is a link of its own.
//
// data-rack       the table
// data-rack-map   the small picture of a wide rack: a tap brings that part into the window

const table = document.querySelector("[data-rack]");
const STEPS = { ArrowLeft: [0, -1], ArrowRight: [0, 1], ArrowUp: [-1, 0], ArrowDown: [1, 0] };

function start() {
  const rows = [...table.tBodies[0].rows].map((row) => [...row.querySelectorAll(".rack__hole")]);
  const last = rows.length - 1;
  const frame = table.parentElement;
  let place = [0, 0];

  table.setAttribute("role", "grid");
  // The holes take the keyboard; the frame around them need not.
  frame.removeAttribute("tabindex");
  for (const one of rows.flat()) {
    one.tabIndex = -1;
  }
  rows[0][0].tabIndex = 0;

  function stand(row, column, { focus = true } = {}) {
    rows[place[0]][place[1]].tabIndex = -1;
    place = [Math.min(last, Math.max(0, row)), 0];
    place[1] = Math.min(rows[place[0]].length - 1, Math.max(0, column));
    const one = rows[place[0]][place[1]];
    one.tabIndex = 0;
    if (focus) {
      one.focus();
      one.scrollIntoView({ block: "nearest", inline: "nearest" });
    }
  }

  table.addEventListener("keydown", (event) => {
    const [row, column] = place;
    if (event.key in STEPS) {
      event.preventDefault();
      stand(row + STEPS[event.key][0], column + STEPS[event.key][1]);
    } else if (event.key === "Home" || event.key === "End") {
      event.preventDefault();
      const line = event.ctrlKey ? (event.key === "Home" ? 0 : last) : row;
      stand(line, event.key === "Home" ? 0 : rows[line].length - 1);
    }
  });

  table.addEventListener("focusin", (event) => {
    rows.forEach((line, row) => {
      const column = line.indexOf(event.target);
      if (column >= 0 && (row !== place[0] || column !== place[1])) {
        stand(row, column, { focus: false });
      }
    });
  });

  document.querySelector("[data-rack-map]")?.addEventListener("click", (event) => {
    const box = event.currentTarget.getBoundingClientRect();
    const row = Math.floor(((event.clientY - box.top) / box.height) * rows.length);
    const column = Math.floor(((event.clientX - box.left) / box.width) * rows[0].length);
    rows[Math.min(last, Math.max(0, row))]
      .at(Math.min(rows[0].length - 1, Math.max(0, column)))
      .scrollIntoView({ block: "center", inline: "center" });
  });
}

if (table?.tBodies[0]?.rows.length && table.querySelector(".rack__hole")) {
  start();
}
