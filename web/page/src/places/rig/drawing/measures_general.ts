import { axis, distance, elevation, ground, level, type Table } from "./views";
import { add, scale } from "./vec";
import { bearing, up } from "./solids";

/** What belongs to no single part. */
export const generalMeasures: Table = [
  [
    /^margin_mm$/,
    (m) => {
      // The back end of the train and what stands nearest below it, as far apart as the owner insists on.
      const leg = add(scale(m.n("support.legs.foot_radius_mm", 300), bearing(m.poleBearing)), [0, 0, m.face / 2]);
      const right = bearing(m.poleBearing);
      return {
        view: level(m.poleBearing),
        of: "margin_mm",
        mark: distance(leg, add(leg, scale(m.n("margin_mm"), right)), -1),
        text: "The least gap to keep between what moves and what does not, at every pointing.",
        show: [],
        guides: [],
        ghosts: [
          { of: "", points: [leg, add(leg, scale(-60, right)), add(leg, scale(90, up)), add(add(leg, scale(-60, right)), scale(90, up))].map((p) => add(p, scale(-45, up))) },
          { of: "", points: [0, 110].flatMap((u) => [-60, 40].map((v) => add(leg, add(scale(m.n("margin_mm") + u, right), scale(v, up))))) },
        ],
      };
    },
  ],
  [
    /^site\.latitude_deg$/,
    (m) => ({
      view: elevation(m),
      of: "mount.polar_housing",
      mark: { kind: "angle", at: m.crossing, from: m.toPole, to: m.z, radius: 380 },
      text: "The latitude, north positive: the polar axis stands at this angle above the horizon.",
      guides: [ground(m, m.poleBearing), axis(m.crossing, m.z, 200, 460)],
    }),
  ],
];
