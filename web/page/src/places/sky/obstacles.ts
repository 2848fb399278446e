import { EdgesGeometry, Vector3 } from "three";

import type { PartDoc } from "../../api/shapes";
import type { Head } from "../../scene/axes";
import { geometry, matrix } from "../../scene/shapes";
import type { Site } from "./horizon";
import type { Obstacle } from "./overlay";

const pieces = 24; // of an edge, for a straight line is bent in the sky

// obstacles gives the edges of the parts named, as they stand in the sky from the crossing of the axes.
export function obstacles(parts: PartDoc[], named: ReadonlySet<string>, head: Head, site: Site): Obstacle[] {
  return parts
    .filter((p) => named.has(p.name))
    .map((p) => {
      const solid = geometry(p);
      const lines = new EdgesGeometry(solid, 25).applyMatrix4(matrix(p.place));
      const at = lines.getAttribute("position");
      const edges: Obstacle["edges"] = [];
      for (let i = 0; i + 1 < at.count; i += 2) {
        const a = new Vector3().fromBufferAttribute(at, i);
        const b = new Vector3().fromBufferAttribute(at, i + 1);
        edges.push(Array.from({ length: pieces + 1 }, (_, k) => toSky(a.clone().lerp(b, k / pieces).sub(head.crossing), site)));
      }
      solid.dispose();
      lines.dispose();
      return { name: p.name, edges };
    });
}

function toSky(d: Vector3, site: Site): [number, number] {
  return site.place({ alt: Math.atan2(d.z, Math.hypot(d.x, d.y)), az: Math.atan2(d.x, d.y) });
}
