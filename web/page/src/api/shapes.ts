// Short names for the server's answers.
import type { components } from "./types";

type Schemas = components["schemas"];

export type RigEntry = Schemas["RigEntry"];
export type RigText = Schemas["RigText"];
export type Doc = Schemas["Doc"];
export type Defect = Schemas["Defect"];
export type PoseDoc = Schemas["PoseDoc"];
export type PartDoc = Schemas["PartDoc"];
export type Nearest = Schemas["Nearest"];

export type Side = "west" | "east";
export type Tolerance = "rss" | "worst" | "none";

// A Pose is where the tube points, and on which side.
export interface Pose {
  side: Side;
  hourAngleH: number;
  decDeg: number;
}
