import {
  BufferGeometry,
  DirectionalLight,
  HemisphereLight,
  InstancedMesh,
  Line,
  LineBasicMaterial,
  LineDashedMaterial,
  LineSegments,
  Matrix4,
  Mesh,
  MeshBasicMaterial,
  PerspectiveCamera,
  Scene,
  SphereGeometry,
  Vector3,
  WebGLRenderer,
} from "three";

import type { Nearest, PartDoc, SweptDoc } from "../api/shapes";
import { Ground } from "./ground";
import { Orbit } from "./orbit";
import type { Palette } from "./palette";
import { Parts } from "./parts";
import { geometry, matrix } from "./shapes";

// Stage is the 3D picture: parts, ground, lines, camera. It renders when something changed, and rests otherwise.
export class Stage {
  readonly orbit: Orbit;
  readonly ground: Ground;
  #renderer: WebGLRenderer;
  #scene = new Scene();
  #camera = new PerspectiveCamera(32, 1, 50, 60000);
  #parts: Parts;
  #ghost: InstancedMesh[] = [];
  #ghostPaint = new MeshBasicMaterial({ transparent: true, opacity: 0.07, depthWrite: false });
  #near = new Line(new BufferGeometry(), new LineBasicMaterial({ depthTest: false, transparent: true }));
  #ends: Mesh<SphereGeometry, MeshBasicMaterial>[] = [];
  #axes = new LineSegments(new BufferGeometry(), new LineDashedMaterial({ dashSize: 60, gapSize: 25 }));
  #asked = 0;
  #held = false;

  constructor(
    canvas: HTMLCanvasElement,
    turner: HTMLElement, // that pointers and keys turn it on
    colors: Palette,
    readonly rendered: () => void, // after each picture: labels go where their points are
    readonly hold: () => boolean, // whether something goes first: without a graphics card a picture keeps the page for long
  ) {
    this.#renderer = new WebGLRenderer({ canvas, antialias: true, alpha: true });
    this.#parts = new Parts(colors);
    this.ground = new Ground(colors);
    const sun = new DirectionalLight(0xffffff, 2.2);
    sun.position.set(1500, -2600, 3200);
    for (let i = 0; i < 2; i++) {
      this.#ends.push(new Mesh(new SphereGeometry(9, 16, 12), new MeshBasicMaterial({ depthTest: false, transparent: true })));
    }
    for (const o of [this.#near, ...this.#ends]) o.renderOrder = 10;
    this.#scene.add(
      new HemisphereLight(0xffffff, 0x8a8a8a, 2.4),
      sun,
      this.ground.group,
      this.#parts.group,
      this.#axes,
      this.#near,
      ...this.#ends,
    );
    this.orbit = new Orbit(this.#camera, turner, () => this.ask());
    this.recolor(colors);
    this.nearest(null);
  }

  // ask has one picture made with the next frame of the screen, or with the second after what goes first.
  ask() {
    this.#asked ||= requestAnimationFrame(() => {
      this.#asked = 0;
      const held = this.#held;
      this.#held = this.hold();
      if (this.#held) setTimeout(() => this.ask(), 20);
      else if (held) this.ask();
      if (held || this.#held) return;
      this.#renderer.render(this.#scene, this.#camera);
      this.rendered();
    });
  }

  resize(width: number, height: number) {
    if (width < 1 || height < 1) return;
    this.#renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
    this.#renderer.setSize(width, height, false);
    this.#camera.aspect = width / height;
    this.#camera.updateProjectionMatrix();
    this.ask();
  }

  recolor(colors: Palette) {
    this.#parts.recolor(colors);
    this.ground.recolor(colors);
    this.#near.material.color.set(colors.near);
    for (const e of this.#ends) e.material.color.set(colors.near);
    this.#axes.material.color.set(colors.quiet);
    this.#ghostPaint.color.set(colors["f-tube"]);
    this.ask();
  }

  put(parts: PartDoc[]) {
    this.#parts.put(parts);
    this.ask();
  }

  move(arm: Matrix4, tube: Matrix4) {
    this.#parts.move(arm, tube);
    this.ask();
  }

  mark(names: ReadonlySet<string>) {
    this.#parts.mark(names);
    this.ask();
  }

  // nearest joins the points of a pair by a line that nothing hides.
  nearest(n: Nearest | null) {
    const ends = n ? [vec(n.point_a_mm), vec(n.point_b_mm)] : [];
    this.#near.visible = n !== null;
    if (n) this.#near.geometry.setFromPoints(ends);
    this.#ends.forEach((e, i) => {
      e.visible = n !== null;
      const at = ends[i];
      if (at) e.position.copy(at);
    });
    this.ask();
  }

  // centreLines draws the polar axis and the line of sight, dashed as an axis is in a drawing.
  centreLines(segments: [Vector3, Vector3][]) {
    this.#axes.geometry.setFromPoints(segments.flat());
    this.#axes.computeLineDistances();
    this.ask();
  }

  // ghost shows what the moving parts sweep along a track.
  ghost(swept: SweptDoc | null) {
    for (const g of this.#ghost) {
      g.removeFromParent();
      g.geometry.dispose();
      g.dispose();
    }
    this.#ghost = [];
    for (const p of swept?.parts ?? []) {
      const g = new InstancedMesh(geometry(p), this.#ghostPaint, p.places.length);
      p.places.forEach((place, i) => {
        g.setMatrixAt(i, matrix(place));
      });
      g.renderOrder = 5;
      this.#ghost.push(g);
      this.#scene.add(g);
    }
    this.ask();
  }

  // onScreen is where a point of the world stands in the picture, in parts of its width and height; null behind the camera.
  onScreen(p: Vector3): { x: number; y: number } | null {
    const q = p.clone().project(this.#camera);
    return q.z < 1 ? { x: (q.x + 1) / 2, y: (1 - q.y) / 2 } : null;
  }

  dispose() {
    cancelAnimationFrame(this.#asked);
    this.ghost(null);
    cancelAnimationFrame(this.#asked);
    this.orbit.dispose();
    this.#parts.dispose();
    this.ground.dispose();
    this.#near.geometry.dispose();
    this.#axes.geometry.dispose();
    this.#renderer.dispose();
  }
}

export function vec(a: number[]): Vector3 {
  return new Vector3(a[0], a[1], a[2]);
}
