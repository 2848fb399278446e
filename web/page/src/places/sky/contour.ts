// Lines where a function of the picture is zero, by marching squares; NaN is no place. Short pieces, in no order.
export type Piece = [x1: number, y1: number, x2: number, y2: number];

export function contour(w: number, h: number, columns: number, rows: number, f: (x: number, y: number) => number): Piece[] {
  const out: Piece[] = [];
  const dx = w / columns;
  const dy = h / rows;
  let above = new Float64Array(columns + 1);
  let below = new Float64Array(columns + 1);
  const fill = (into: Float64Array, j: number) => {
    for (let i = 0; i <= columns; i++) into[i] = f(Math.min(i * dx, w - 1e-6), Math.min(j * dy, h - 1e-6));
  };
  fill(above, 0);
  for (let j = 0; j < rows; j++) {
    fill(below, j + 1);
    for (let i = 0; i < columns; i++) {
      const a = above[i] ?? NaN;
      const b = above[i + 1] ?? NaN;
      const c = below[i + 1] ?? NaN;
      const d = below[i] ?? NaN;
      if (Number.isNaN(a + b + c + d)) continue;
      const x = i * dx;
      const y = j * dy;
      const cuts: [number, number][] = [];
      if (a < 0 !== b < 0) cuts.push([x + (dx * a) / (a - b), y]);
      if (b < 0 !== c < 0) cuts.push([x + dx, y + (dy * b) / (b - c)]);
      if (d < 0 !== c < 0) cuts.push([x + (dx * d) / (d - c), y + dy]);
      if (a < 0 !== d < 0) cuts.push([x, y + (dy * a) / (a - d)]);
      for (let k = 0; k + 1 < cuts.length; k += 2) {
        const [p, q] = [cuts[k], cuts[k + 1]];
        if (p && q) out.push([p[0], p[1], q[0], q[1]]);
      }
    }
    [above, below] = [below, above];
  }
  return out;
}
