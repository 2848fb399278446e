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
  Vector2,
  Vector3,
  WebGLRenderer,
} from "three";

import type { Nearest, PartDoc, SweptDoc } from "../api/shapes";
import { Ground } from "./ground";
import { Orbit } from "./orbit";
import type { Palette } from "./palette";
import { Parts } from "./parts";
import { geometry, matrix } from "./shapes";
import { Sharpness } from "./sharpness";

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
  #sharpness = new Sharpness(() => this.#next());
  #share = 1; // of the canvas's width and height that is drawn into, from its lower left
  #timing = false; // a picture that is timed is under way

  constructor(
    canvas: HTMLCanvasElement,
    turner: HTMLElement, // that pointers and keys turn it on
    colors: Palette,
    readonly rendered: () => void, // after each picture: labels go where their points are
  ) {
    this.#renderer = new WebGLRenderer({ canvas, antialias: true, alpha: true });
    canvas.style.transformOrigin = "0 100%";
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

  // ask has one picture made with the next frame of the screen.
  ask() {
    this.#sharpness.asked();
    this.#next();
  }

  #next() {
    this.#asked ||= requestAnimationFrame(() => {
      this.#asked = 0;
      const share = this.#sharpness.share;
      this.#spread(share);
      const start = performance.now();
      this.#renderer.render(this.#scene, this.#camera);
      this.#time(share, start);
      this.rendered();
    });
  }

  // spread draws into a share of the canvas and blows that up to all of it: to make the canvas smaller would take longer than a picture.
  #spread(share: number) {
    if (share === this.#share) return;
    this.#share = share;
    const { x, y } = this.#renderer.getSize(new Vector2());
    this.#renderer.setScissorTest(share < 1);
    this.#renderer.setScissor(0, 0, x * share, y * share);
    this.#renderer.setViewport(0, 0, x * share, y * share);
    this.#renderer.domElement.style.transform = share < 1 ? `scale(${String(1 / share)})` : "";
  }

  // time waits until the renderer is done with a picture, and tells how long it took.
  #time(share: number, start: number) {
    if (this.#timing) return;
    const gl = this.#renderer.getContext() as WebGL2RenderingContext;
    const done = gl.fenceSync(gl.SYNC_GPU_COMMANDS_COMPLETE, 0);
    if (!done) return;
    gl.flush();
    this.#timing = true;
    const look = () => {
      if (!gl.isContextLost() && gl.getSyncParameter(done, gl.SYNC_STATUS) !== gl.SIGNALED) {
        setTimeout(look);
        return;
      }
      gl.deleteSync(done);
      this.#timing = false;
      this.#sharpness.took(share, performance.now() - start);
    };
    setTimeout(look);
  }

  resize(width: number, height: number) {
    if (width < 1 || height < 1) return;
    this.#renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
    this.#renderer.setSize(width, height, false);
    this.#share = 1;
    this.#spread(this.#sharpness.share);
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
    this.ghost(null);
    this.#sharpness.dispose();
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
