import {
  BackSide,
  type BufferGeometry,
  Color,
  EdgesGeometry,
  Group,
  LineBasicMaterial,
  LineSegments,
  Matrix4,
  Mesh,
  MeshBasicMaterial,
  MeshLambertMaterial,
} from "three";

import type { PartDoc } from "../api/shapes";
import type { Palette } from "./palette";
import { geometry, matrix } from "./shapes";

export type FrameName = PartDoc["frame"];
const frames: FrameName[] = ["ground", "polar", "arm", "tube"];

const outline = 9; // mm about a part below the margin
const crease = 25; // degrees of an edge that is drawn

interface Shown {
  key: string; // shape and size: while it stays, the geometry stays
  group: Group;
  mesh: Mesh<BufferGeometry, MeshLambertMaterial>;
  hull: Mesh;
  edges: LineSegments;
  frame: FrameName;
}

// Parts are the rig's solids where the server put them, in one group for each frame, which moves them on from there.
export class Parts {
  readonly group = new Group();
  #frames = Object.fromEntries(frames.map((f) => [f, new Group()])) as Record<FrameName, Group>;
  #shown = new Map<string, Shown>();
  #plain = {} as Record<FrameName, MeshLambertMaterial>;
  #striped = {} as Record<FrameName, MeshLambertMaterial>;
  #ink = new MeshBasicMaterial({ side: BackSide });
  #edge = new LineBasicMaterial({ transparent: true, opacity: 0.75 });

  constructor(colors: Palette) {
    for (const f of frames) {
      this.#plain[f] = new MeshLambertMaterial({ polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1 });
      this.#striped[f] = stripes(this.#plain[f]);
      this.#frames[f].matrixAutoUpdate = false;
      this.group.add(this.#frames[f]);
    }
    this.recolor(colors);
  }

  recolor(colors: Palette) {
    for (const f of frames) {
      this.#plain[f].color.set(colors[`f-${f}`]);
      this.#striped[f].color.set(colors[`f-${f}`]);
      (this.#striped[f].userData.stripe as { value: Color }).value.set(colors.ink);
    }
    this.#ink.color.set(colors.ink);
    this.#edge.color.set(colors.ink);
  }

  // put shows the parts where an answer has them.
  put(parts: PartDoc[]) {
    const gone = new Set(this.#shown.keys());
    for (const p of parts) {
      gone.delete(p.name);
      const key = [p.frame, p.shape, ...p.size_mm].join(" ");
      let s = this.#shown.get(p.name);
      if (s && s.key !== key) {
        this.#drop(p.name, s);
        s = undefined;
      }
      if (!s) {
        s = this.#make(p, key);
        this.#shown.set(p.name, s);
      }
      s.group.matrix.copy(matrix(p.place));
    }
    for (const name of gone) {
      const s = this.#shown.get(name);
      if (s) this.#drop(name, s);
    }
    for (const f of frames) this.#frames[f].matrix.identity();
    this.group.updateMatrixWorld(true);
  }

  // move turns what the axes turn on from where the answer has it.
  move(arm: Matrix4, tube: Matrix4) {
    this.#frames.arm.matrix.copy(arm);
    this.#frames.tube.matrix.copy(tube);
    this.group.updateMatrixWorld(true);
  }

  // mark gives stripes and a thick outline to the parts named.
  mark(names: ReadonlySet<string>) {
    for (const [name, s] of this.#shown) {
      const on = names.has(name);
      s.mesh.material = on ? this.#striped[s.frame] : this.#plain[s.frame];
      s.hull.visible = on;
    }
  }

  #make(p: PartDoc, key: string): Shown {
    const g = geometry(p);
    const mesh = new Mesh(g, this.#plain[p.frame]);
    const hull = new Mesh(geometry(p, outline), this.#ink);
    hull.visible = false;
    const edges = new LineSegments(new EdgesGeometry(g, crease), this.#edge);
    const group = new Group();
    group.matrixAutoUpdate = false;
    group.add(mesh, hull, edges);
    this.#frames[p.frame].add(group);
    return { key, group, mesh, hull, edges, frame: p.frame };
  }

  #drop(name: string, s: Shown) {
    s.group.removeFromParent();
    s.mesh.geometry.dispose();
    s.hull.geometry.dispose();
    s.edges.geometry.dispose();
    this.#shown.delete(name);
  }

  dispose() {
    for (const [name, s] of this.#shown) this.#drop(name, s);
    for (const f of frames) {
      this.#plain[f].dispose();
      this.#striped[f].dispose();
    }
    this.#ink.dispose();
    this.#edge.dispose();
  }
}

// stripes returns a copy of a material with slanting stripes across, as wide on the screen wherever the part is.
function stripes(plain: MeshLambertMaterial): MeshLambertMaterial {
  const m = plain.clone();
  const stripe = { value: new Color() };
  m.userData.stripe = stripe;
  m.onBeforeCompile = (shader) => {
    shader.uniforms.stripe = stripe;
    shader.fragmentShader = shader.fragmentShader
      .replace("void main() {", "uniform vec3 stripe;\nvoid main() {")
      .replace(
        "#include <opaque_fragment>",
        "if (mod(gl_FragCoord.x - gl_FragCoord.y, 11.0) < 4.0) outgoingLight = stripe;\n#include <opaque_fragment>",
      );
  };
  return m;
}
