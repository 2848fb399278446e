// Where words stand in the picture of the night without lying on a curve.

export type Point = readonly [number, number];

export interface Box {
  left: number;
  top: number;
  right: number;
  bottom: number;
}

// Label is a disk on a curve and the box of the words beside it; without a box there is no clear place for words.
export interface Label {
  disk: Point;
  words: Box | null;
}

// crosses tells whether a segment has a point in a box (Liang and Barsky's clipping).
export function crosses(b: Box, [x1, y1]: Point, [x2, y2]: Point): boolean {
  let [from, to] = [0, 1];
  for (const [d, room] of [[x1 - x2, x1 - b.left], [x2 - x1, b.right - x1], [y1 - y2, y1 - b.top], [y2 - y1, b.bottom - y1]] as const) {
    if (d === 0) {
      if (room < 0) return false;
    } else if (d < 0) from = Math.max(from, room / d);
    else to = Math.min(to, room / d);
  }
  return from <= to;
}

const overlap = (a: Box, b: Box) => a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
const clear = (b: Box, curves: readonly (readonly Point[])[]) =>
  !curves.some((c) => c.some((q, i) => i > 0 && crosses(b, c[i - 1] ?? q, q)));

const low = 60; // so far below the top of its curve, px, the disk would look like a place that means something

// besideCurve puts a disk of a radius on one of the runs of a curve, as high as may be, with words of a size beside it. Words lie on no curve,
// on nothing that is taken, and inside the frame; the disk lies on no other curve where that can be. Where no such place is near the top,
// the disk stands alone there.
export function besideCurve(runs: readonly (readonly Point[])[], size: Point, radius: number, others: readonly (readonly Point[])[], taken: readonly Box[], frame: Box): Label | null {
  const points = runs.flat().sort((a, b) => a[1] - b[1]);
  const top = points[0];
  if (!top) return null;
  const into = ([x, y]: Point): Point => [Math.min(Math.max(x, frame.left + radius + 3), frame.right - radius - 3), Math.min(Math.max(y, frame.top + radius + 3), frame.bottom - radius)];
  const places = points
    .filter((p) => p[1] <= top[1] + low)
    .map((p): Label & { open: boolean; bare: boolean } => {
      const disk = into(p);
      const round = { left: disk[0] - radius, right: disk[0] + radius, top: disk[1] - radius, bottom: disk[1] + radius };
      if (taken.some((t) => overlap(t, round))) return { disk, words: null, open: false, bare: false };
      return { disk, words: wordsAt(disk, size, radius, [...runs, ...others], taken, frame), open: true, bare: clear(round, others) };
    });
  const found = places.find((p) => p.words && p.bare) ?? places.find((p) => p.words) ?? places.find((p) => p.bare) ?? places.find((p) => p.open);
  return found ? { disk: found.disk, words: found.words } : { disk: into(top), words: null };
}

// wordsAt is a clear box for words around a disk.
function wordsAt([x, y]: Point, [w, h]: Point, radius: number, curves: readonly (readonly Point[])[], taken: readonly Box[], frame: Box): Box | null {
  const [gap, air] = [radius + 4, 2];
  const across = [x + gap, x - gap - w];
  const beside = [y - h / 2, y - radius - h, y + radius].flatMap((above) => across.map((left) => [left, above] as const));
  for (const [left, above] of [...beside, [x - w / 2, y - gap - h + 2] as const, [x - w / 2, y + gap - 2] as const]) {
    const wide = { left: left - air, right: left + w + air, top: above - air, bottom: above + h + air };
    const inside = wide.left >= frame.left && wide.right <= frame.right && wide.top >= frame.top && wide.bottom <= frame.bottom;
    if (inside && !taken.some((t) => overlap(t, wide)) && clear(wide, curves)) return { left, right: left + w, top: above, bottom: above + h };
  }
  return null;
}
