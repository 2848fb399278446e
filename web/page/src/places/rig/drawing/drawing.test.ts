import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

import { draw, figuresOf, type Figures } from ".";
import { measure } from "./measures";
import { height, hull, width } from "./sheet";
import { Model } from "./solids";
import { dot, norm, sub } from "./vec";

// Written by go test ./web -run TestFigures -update: the examples, a rig from each template, a document with nearly every key.
type Values = Record<string, number | string | string[]>;
const all = JSON.parse(readFileSync("src/places/rig/drawing/testdata/figures.json", "utf8")) as Record<string, Values>;
const rigs = Object.entries(all).map(([name, v]) => {
  const { quantities, ...values } = v;
  return { name, paths: quantities as string[], figures: figuresOf(Object.entries(values).map(([path, value]) => ({ path, value: value as number | string }))) };
});

test("there are rigs to draw", () => assert.ok(rigs.length >= 11 && rigs.every((r) => r.paths.length > 60)));

test("every measure has a drawing on its sheet and a sentence", () => {
  for (const { name, paths, figures } of rigs) {
    for (const path of paths) {
      const d = draw(figures, path, "460 ± 5 mm");
      assert.ok(d, `${name}: ${path}`);
      assert.match(d.text, /^[A-Z].*\. Seen .*\.$/, path);
      const { items } = d.sheet;
      assert.ok(items.every((i) => i.kind === "text" || !/NaN|Infinity/.test(i.d)), `${name}: ${path}`);
      const value = items.find((i) => i.kind === "text" && i.style === "value");
      assert.ok(value?.kind === "text" && value.x >= 0 && value.x <= width && value.y > 0 && value.y <= height, `${name}: ${path}`);
      assert.ok(items.some((i) => i.kind === "path" && i.style === "arrow"), `${name}: ${path}`);
    }
  }
});

// Some part is in bold, but where the measure is between parts or from nothing that is drawn.
test("the part that a measure belongs to is marked", () => {
  const between = /^margin_mm$|crossing|polar_axis|zero_errors|out_of_level|saddle_distance_mm|rotator|^cables/;
  for (const { name, paths, figures } of rigs) {
    for (const path of paths) {
      if (between.test(path)) continue;
      const marked = draw(figures, path, "1")?.sheet.items.some((i) => i.kind === "path" && i.style === "marked");
      assert.ok(marked, `${name}: ${path}`);
    }
  }
});

// What is marked is as long as the document says, in the view that it is drawn in: lengths are not drawn foreshortened.
test("a marked length is the document's length", () => {
  for (const { name, paths, figures } of rigs) {
    const m = new Model(figures);
    for (const path of paths) {
      const d = measure(m, path);
      if (d?.mark.kind !== "distance") continue;
      const { from, to, along } = d.mark;
      const run = sub(to, from);
      const flat = (v: typeof run) => Math.hypot(dot(v, d.view.right), dot(v, d.view.up));
      const drawn = along ? Math.abs(dot(run, along)) * flat(along) : flat(run);
      const want = path.startsWith("tube.") && /\.(from|to)_mm$/.test(path) ? Math.abs(value(figures, path) + m.slide) : Math.abs(value(figures, path));
      assert.ok(Math.abs(drawn - want) < 1e-6 * Math.max(1, want), `${name}: ${path} is ${want} mm, and ${drawn} mm are drawn`);
    }
  }
});

const value = (f: Figures, path: string) => f.number(path) ?? NaN;

test("two measures of one part do not look the same", () => {
  for (const { name, paths, figures } of rigs) {
    const seen = new Map<string, string>();
    for (const path of paths) {
      if (figures.number(path) === 0) continue; // of two offsets of nothing the lines lie on each other
      const d = draw(figures, path, "")?.sheet;
      const look = JSON.stringify(d?.items.filter((i) => i.kind === "path"));
      assert.equal(seen.get(look), undefined, `${name}: ${path}`);
      seen.set(look, path);
    }
  }
});

test("the axes of the model are those of the program", () => {
  // 40° N, as in the design's check values: at the pole the arm's x points up and south, y east.
  const m = new Model(figuresOf([{ path: "site.latitude_deg", value: 40 }]));
  const c = Math.cos((40 * Math.PI) / 180);
  const s = Math.sin((40 * Math.PI) / 180);
  assert.ok(norm(sub(m.z, [0, c, s])) < 1e-12 && norm(sub(m.x, [0, -s, c])) < 1e-12 && norm(sub(m.y, [1, 0, 0])) < 1e-12);
  const south = new Model(figuresOf([{ path: "site.latitude_deg", value: -40 }]));
  assert.ok(norm(sub(south.z, [0, -c, s])) < 1e-12 && norm(sub(south.y, [-1, 0, 0])) < 1e-12);
});

test("names of entries find their index", () => {
  const tube = rigs.find((r) => r.name === "template long-refractor");
  assert.ok(tube);
  assert.deepEqual(draw(tube.figures, "tube.train.items[filter wheel].height_mm", "1"), draw(tube.figures, "tube.train.items[4].height_mm", "1"));
  assert.ok(draw(tube.figures, "tube.train.items", "1"));
  assert.equal(draw(tube.figures, "tube.nothing_mm", "1"), undefined);
});

test("a hull keeps corners among points of one edge", () => {
  const points = Array.from({ length: 40 }, (_, i) => [i % 2 ? 100 : 1e-12 * i, 50 * Math.cos(i)] as const);
  const box = hull(points);
  assert.equal(box.length, 4);
});
