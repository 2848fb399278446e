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

// HeadDoc is where the mount's axes are.
export interface HeadDoc {
  latitude_deg: number;
  crossing_mm: number[];
  x: number[];
  w: number[];
  p: number[];
  aligned: boolean;
  ra_zero_deg: number;
  dec_zero_deg: number;
}

// SweptDoc is where the moving parts stand along a track.
export interface SweptDoc {
  hour_angle_h: number[];
  free: boolean[];
  gap_mm: number[];
  parts: { name: string; frame: "arm" | "tube"; shape: PartDoc["shape"]; size_mm: number[]; places: number[][] }[];
}
