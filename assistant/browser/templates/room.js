"use strict";
/* The room of a panel as SVG: each pull is told by its shape, not by its colour alone. */
const SVG = "http://www.w3.org/2000/svg";

function part(parent, name, values) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(values)) made.setAttribute(key, value);
  parent.append(made);
  return made;
}

function drawRoom(svg, room) {
  svg.replaceChildren();
  if (!room) return;
  const xs = room.corners.map((spot) => spot[0]), ys = room.corners.map((spot) => spot[1]);
  const [left, top] = [Math.min(...xs), Math.max(...ys)];
  const wide = Math.max(...xs) - left, high = top - Math.min(...ys), rim = 0.04 * Math.max(wide, high);
  const at = ([x, y]) => [x - left, top - y];
  const points = (spots) => spots.map((spot) => at(spot).join(",")).join(" ");
  const line = (from, to, kind) => {
    const [[x1, y1], [x2, y2]] = [at(from), at(to)];
    part(svg, "line", { x1, y1, x2, y2, class: kind });
  };
  svg.setAttribute("viewBox", [-rim, -rim, wide + 2 * rim, high + 2 * rim].join(" "));
  for (const area of room.bare) part(svg, "polygon", { points: points(area), class: "bare" });
  part(svg, "polygon", { points: points(room.corners), class: "wall" });
  for (const [from, to] of room.gaps) line(from, to, "gap");
  const shorter = Math.min(wide, high);
  for (const pull of room.pulls) drawPull(svg, pull, shorter, at, line);
}

function drawPull(svg, pull, shorter, at, line) {
  const inside = (share) => pull.head.map((from, axis) => from + (pull.tail[axis] - from) * share);
  const span = Math.hypot(pull.tail[0] - pull.head[0], pull.tail[1] - pull.head[1]) || 1;
  const near = Math.min(0.5, 0.03 * shorter / span), far = Math.min(0.5, 0.2 * shorter / span);
  if (pull.stands === "done") line(inside(near), inside(far), "done");
  else if (pull.stands === "skipped") line(inside(near), inside(far), "skipped");
  else if (pull.stands === "to come") line(inside(near), inside(near), "waiting");
  else {
    line(pull.head, pull.tail, "now");
    const [x, y] = at(pull.head), size = 0.09 * shorter;
    part(svg, "rect", { x: x - size / 2, y: y - size / 2, width: size, height: size, class: "head" });
  }
}

const SHAPES = { down: "10,15 90,15 50,90", up: "10,85 90,85 50,10", diamond: "50,5 95,50 50,95 5,50" };

const EARS = {
  open: "M10,35h16v30h-16zM42,8h16v84h-16zM74,25h16v50h-16z",
  closed: "M20,10h22v80h-22zM58,10h22v80h-22z",
  speaking: "M5,35h25l40,-30v90l-40,-30h-25z",
  gone: "M20,5L50,35L80,5L95,20L65,50L95,80L80,95L50,65L20,95L5,80L35,50L5,20z",
};

function drawEars(svg, shape) {
  svg.replaceChildren();
  part(svg, "path", { d: EARS[shape], class: shape });
}

function drawShape(svg, shape) {
  svg.replaceChildren();
  if (shape === "disc") part(svg, "circle", { cx: 50, cy: 50, r: 42 });
  else if (SHAPES[shape]) part(svg, "polygon", { points: SHAPES[shape] });
}
