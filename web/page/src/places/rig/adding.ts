import type { Doc } from "../../api/shapes";
import type { ListPath } from "./groups";

// What a new entry of a list starts as: lengths that nobody has measured yet.
const fresh: Record<ListPath, (name: string) => string> = {
  "support.obstacles": (n) => `{name: ${n}, shape: box, size_mm: [500 unmeasured, 500 unmeasured, 700 unmeasured], at_mm: [1200 unmeasured, 0 unmeasured, 350 unmeasured]}`,
  "mount.parts": (n) => `{name: ${n}, shape: box, size_mm: [60 unmeasured, 60 unmeasured, 60 unmeasured], at_mm: [60 unmeasured, 90 unmeasured, 0 unmeasured]}`,
  "tube.parts": (n) => `{name: ${n}, shape: box, size_mm: [40 unmeasured, 80 unmeasured, 100 unmeasured], at_mm: [120 unmeasured, 130 unmeasured, 0 unmeasured]}`,
  parts: (n) => `{name: ${n}, frame: ground, shape: cylinder, size_mm: [80 unmeasured, 800 unmeasured], at_mm: [1200 unmeasured, 0 unmeasured, 400 unmeasured]}`,
  "mount.counterweights.weights": () => `{at_mm: 300 unmeasured, diameter_mm: 120 unmeasured, thickness_mm: 50 unmeasured}`,
  "tube.sections": (n) => `{name: ${n}, from_mm: -20 unmeasured, to_mm: 20 unmeasured, diameter_mm: 150 unmeasured}`,
  "tube.guide_tubes": (n) => `{name: ${n}, from_mm: -80 unmeasured, to_mm: 100 unmeasured, diameter_mm: 50 unmeasured, beside_mm: 120 unmeasured, angle_deg: 0 unmeasured}`,
  "tube.train.items": (n) => `{name: ${n}, length_mm: 40 unmeasured, diameter_mm: 60 unmeasured}`,
  conditions: (n) => `{name: ${n}}`,
  cables: (n) => `{name: ${n}, length_mm: 2000 unmeasured, plug: {part: declination housing}, box: {frame: ground, at_mm: [0, 0, 400]}}`,
};

const names: Record<ListPath, string> = {
  "support.obstacles": "obstacle",
  "mount.parts": "box",
  "tube.parts": "box",
  parts: "post",
  "mount.counterweights.weights": "",
  "tube.sections": "ring",
  "tube.guide_tubes": "guide tube",
  "tube.train.items": "spacer",
  conditions: "roof shut",
  cables: "cable",
};

// unused gives a name that nothing in the document has yet.
export function unused(base: string, doc: Doc): string {
  const taken = new Set([...doc.settings.filter((s) => s.path.endsWith("name")).map((s) => s.value), ...doc.parts.map((p) => p.name)]);
  if (!taken.has(base)) return base;
  let i = 2;
  while (taken.has(`${base} ${String(i)}`)) i++;
  return `${base} ${String(i)}`;
}

// entry gives a new entry for a list as a document writes it.
export function entry(list: ListPath, doc: Doc): { name: string; value: string } {
  const name = unused(names[list], doc);
  return { name, value: fresh[list](name) };
}
