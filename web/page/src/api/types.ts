// Made by `npm run types`; until the server answers, by hand from web/types.go.
export interface components {
  schemas: {
    RigEntry: { id: string; file: string; name: string; fingerprint: string; version: string; problem?: string };
    Defect: { file: string; line: number; col: number; path: string; problem: string; remedy: string };
    RigText: { id: string; version: string; text: string; doc: components["schemas"]["Doc"] };
    Doc: {
      id: string;
      errors: components["schemas"]["Defect"][];
      fingerprint: string;
      name: string;
      margin_mm: number;
      site?: { latitude_deg: number; longitude_deg: number; elevation_m: number; time_zone: string; horizon: number[][] };
      conditions: string[];
      joined: string[][];
      travel?: { ra_from_deg: number; ra_to_deg: number; dec_from_deg: number; dec_to_deg: number };
      crossing_mm: number[];
      head?: {
        latitude_deg: number;
        crossing_mm: number[];
        x: number[];
        w: number[];
        p: number[];
        aligned: boolean;
        ra_zero_deg: number;
        dec_zero_deg: number;
      };
    };
    PoseDoc: {
      hour_angle_h: number;
      dec_deg: number;
      side: "west" | "east";
      tube_is: "west" | "east" | "above" | "below";
      ra_axis_deg: number;
      dec_axis_deg: number;
      gap_mm: number;
      gap_lower_mm: number;
      free: boolean;
      fingerprint: string;
      margin_mm: number;
      tolerance_mode: "rss" | "worst" | "none";
      tolerance_mm: number;
      unmeasured: string[];
      without?: string[];
      nearest: components["schemas"]["Nearest"][];
      parts: components["schemas"]["PartDoc"][];
      joined: string[][];
    };
    Nearest: {
      a: string;
      b: string;
      gap_mm: number;
      gap_lower_mm: number;
      tolerance_mm: number;
      point_a_mm: number[];
      point_b_mm: number[];
    };
    PartDoc: {
      name: string;
      frame: "ground" | "polar" | "arm" | "tube";
      shape: "box" | "cylinder" | "cone" | "capsule" | "sphere";
      size_mm: number[];
      place: number[];
    };
  };
}
