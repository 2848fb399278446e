// Short names for the server's answers.
import type { components } from "./types";

type Schemas = components["schemas"];

export type RigEntry = Schemas["RigEntry"];
export type RigText = Schemas["RigText"];
export type Doc = Schemas["Doc"];
export type Defect = Schemas["Defect"];
export type Change = Schemas["Change"];
export type Edited = Schemas["Edited"];
export type Conflict = Schemas["Conflict"];
export type Quantity = Schemas["Quantity"];
export type Setting = Schemas["Setting"];
export type LengthDoc = Schemas["LengthDoc"];
export type TemplateDoc = Schemas["TemplateDoc"];
export type HeadDoc = Schemas["Head"];
export type PoseDoc = Schemas["PoseDoc"];
export type PartDoc = Schemas["PartDoc"];
export type Nearest = Schemas["Nearest"];
export type SweptDoc = Schemas["Swept"];
export type FrameHead = Schemas["FrameHead"];
export type LimitsDoc = Schemas["LimitsDoc"];
export type RowDoc = Schemas["RowDoc"];
export type OrderDoc = Schemas["OrderDoc"];
export type TwoNumberDoc = Schemas["TwoNumberDoc"];
export type ShareDoc = Schemas["ShareDoc"];
export type Target = Schemas["Target"];
export type TargetList = Schemas["TargetList"];
export type SkyObject = Schemas["SkyObject"];
export type NightDoc = Schemas["NightDoc"];
export type TargetPlan = Schemas["TargetPlan"];
export type BlockDoc = Schemas["BlockDoc"];
export type MoveDoc = Schemas["MoveDoc"];
export type AdviceDoc = Schemas["AdviceDoc"];
export type ConfirmDoc = Schemas["ConfirmDoc"];
export type Altitudes = Schemas["Altitudes"];
export type WatchDoc = Schemas["WatchDoc"];
export type WatchStep = Schemas["WatchStep"];
export type WatchEvent = Schemas["Event"];
export type AlarmState = Schemas["AlarmState"];
export type WatchSample = Schemas["Sample"];
export type NightsDoc = Schemas["NightsDoc"];
export type NightRecord = Schemas["NightRecord"];
export type OpenWith = Schemas["OpenWith"];
export type WatchRecord = Schemas["Record"];
export type Walk = Schemas["Walk"];
export type WalkStep = Schemas["ProofStepDoc"];
export type Fit = Schemas["Fit"];
export type FitReading = Schemas["ProofReadingDoc"];
export type FittedLength = Schemas["FittedDoc"];
export type ToleranceDoc = Schemas["ToleranceDoc"];
export type Compared = Schemas["Compared"];
export type VariantDoc = Schemas["VariantDoc"];
export type Solved = Schemas["Solved"];
export type SolvePoint = Schemas["SolvePoint"];
export type Scanned = Schemas["Scanned"];
export type ShortDoc = Schemas["ShortDoc"];
export type LoadDoc = Schemas["LoadDoc"];
export type CableDoc = Schemas["CableDoc"];
export type SpanDoc = Schemas["SpanDoc"];
export type AxisPose = Schemas["AxisPoseDoc"];

export type Side = "west" | "east";
export type Tolerance = "rss" | "worst" | "none";

// A Pose is where the tube points, and on which side.
export interface Pose {
  side: Side;
  hourAngleH: number;
  decDeg: number;
}
