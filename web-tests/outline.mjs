// Outlines as edges in px: read back from path text, and made anew from what the bench sends.

/**
 * @typedef {[number, number]} Point
 * @typedef {{ from: Point, to: Point, radius?: number, large?: boolean, sweep?: boolean, pulls?: [Point, Point] }} Edge
 *   a line; an arc where there is a radius; a curve of the third degree where there are pulls
 */

/** Edges of path text. @param {string} text @returns {Edge[]} */
export function read(text) {
  const words = text.match(/[A-Za-z]|-?\d+\.?\d*(?:e-?\d+)?/g) ?? [];
  const edges = [];
  let [i, start, at] = [0, [0, 0], [0, 0]];
  const number = () => Number(words[i++]);
  const point = () => [number(), number()];
  const go = (edge) => {
    edges.push({ from: at, ...edge });
    at = edge.to;
  };
  while (i < words.length) {
    const letter = words[i++];
    if (letter === "M") start = at = point();
    else if (letter === "L") go({ to: point() });
    else if (letter === "Z") go({ to: start });
    else if (letter === "C") {
      const pulls = [point(), point()];
      go({ to: point(), pulls });
    } else if (letter === "A") {
      const [radius, other, , large, sweep] = [number(), number(), number(), number(), number()];
      if (radius !== other) throw new Error(`an arc with two radii: ${radius} and ${other}`);
      go({ to: point(), radius, large: large === 1, sweep: sweep === 1 });
    } else throw new Error(`${letter} is not expected in path text`);
  }
  return edges;
}

/**
 * Edges of outlines as the bench sends them, turned, moved, and seen at a scale with y down.
 * @param {number[][][]} outlines_mm
 * @param {{ angle_deg: number, axis_mm: number[] }} pose
 * @param {(place_mm: Point) => Point} toScreen
 * @param {number} px_per_mm
 * @returns {Edge[]}
 */
export function posed(outlines_mm, { angle_deg, axis_mm }, toScreen, px_per_mm) {
  const angle = (angle_deg * Math.PI) / 180;
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  const place = ([x, y]) => toScreen([axis_mm[0] + c * x - s * y, axis_mm[1] + s * x + c * y]);
  return outlines_mm.flatMap((rows) => rows.slice(1).map((row, i) => {
    const edge = { from: place(rows[i]), to: place(row) };
    return row.length === 2 ? edge : { ...edge, radius: row[2] * px_per_mm, large: row[3] === 1, sweep: row[4] === 0 };
  }));
}

/** Distance of a point from the nearest edge. @param {Edge[]} edges @param {Point} point */
export const distance = (edges, point) => Math.min(...edges.map((edge) => fromEdge(edge, point)));

/** @param {Edge} edge @param {Point} point */
function fromEdge(edge, point) {
  if (edge.pulls) return fromCurve(edge, point);
  return edge.radius ? fromArc(edge, point) : fromLine(edge.from, edge.to, point);
}

const apart = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);

function fromLine(a, b, point) {
  const [u, v] = [b[0] - a[0], b[1] - a[1]];
  const t = ((point[0] - a[0]) * u + (point[1] - a[1]) * v) / (u * u + v * v || 1);
  const held = Math.min(Math.max(t, 0), 1);
  return apart(point, [a[0] + held * u, a[1] + held * v]);
}

/** An arc's centre and what it turns by, as the SVG standard (implementation notes, B.2.4) has it. */
function centreOf({ from, to, radius, large, sweep }) {
  const [u, v] = [(from[0] - to[0]) / 2, (from[1] - to[1]) / 2];
  const square = u * u + v * v;
  const far = (large === sweep ? -1 : 1) * Math.sqrt(Math.max(radius * radius / square - 1, 0));
  const centre = [(from[0] + to[0]) / 2 + far * v, (from[1] + to[1]) / 2 - far * u];
  const angle = (p) => Math.atan2(p[1] - centre[1], p[0] - centre[0]);
  const round = (a) => ((a % (2 * Math.PI)) + 2 * Math.PI) % (2 * Math.PI);
  const turn = sweep ? round(angle(to) - angle(from)) : round(angle(from) - angle(to));
  const along = (p) => (sweep ? round(angle(p) - angle(from)) : round(angle(from) - angle(p)));
  return { centre, turn, along };
}

function fromArc(edge, point) {
  const { centre, turn, along } = centreOf(edge);
  const ends = Math.min(apart(point, edge.from), apart(point, edge.to));
  return along(point) <= turn ? Math.min(Math.abs(apart(point, centre) - edge.radius), ends) : ends;
}

const PIECES = 2000;

function fromCurve({ from, to, pulls: [p, q] }, point) {
  const at = (t) => [0, 1].map((k) =>
    (1 - t) ** 3 * from[k] + 3 * (1 - t) ** 2 * t * p[k] + 3 * (1 - t) * t * t * q[k] + t ** 3 * to[k]);
  let [best, last] = [Infinity, from];
  for (let i = 1; i <= PIECES; i += 1) {
    const next = at(i / PIECES);
    best = Math.min(best, fromLine(last, next, point));
    last = next;
  }
  return best;
}
