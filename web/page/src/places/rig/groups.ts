import type { Doc, Quantity, Setting } from "../../api/shapes";

export const groupNames = {
  support: "Support",
  mount: "Mount",
  tube: "Tube",
  train: "Imaging train",
  extras: "Extra parts and obstacles",
  site: "Site and margin",
} as const;

// The paragraph of the document on measuring that tells of each.
export const howTo = {
  support: "the-support",
  mount: "the-mount",
  tube: "the-tube",
  train: "the-imaging-train",
  extras: "what-is-not-there-all-the-time",
  site: "the-first-twelve",
} as const;

export type GroupId = keyof typeof groupNames;

// Entity is one thing of the document with its measures and words: the legs, the second counterweight, the camera.
export interface Entity {
  path: string;
  title: string;
  list: string | null; // the list that it is an entry of
  index: number;
  quantities: Quantity[]; // written in a document
  defaults: Quantity[]; // left to the program
  settings: Setting[];
}

export interface Group {
  id: GroupId;
  entities: Entity[];
}

// Lists whose entries are things of their own.
export const lists = {
  "support.obstacles": { group: "extras", one: "obstacle" },
  "mount.parts": { group: "extras", one: "part on the mount" },
  "tube.parts": { group: "extras", one: "part on the tube" },
  parts: { group: "extras", one: "other part" },
  "mount.counterweights.weights": { group: "mount", one: "counterweight" },
  "tube.sections": { group: "tube", one: "piece of the tube" },
  "tube.guide_tubes": { group: "tube", one: "guide tube" },
  "tube.train.items": { group: "train", one: "item of the train" },
  conditions: { group: "extras", one: "condition" },
  cables: { group: "extras", one: "cable" },
} as const;

export type ListPath = keyof typeof lists;

export const isList = (path: string): path is ListPath => path in lists;

// entityOf gives the path of the thing that a measure or a word belongs to.
export function entityOf(path: string): string {
  const entry = /^(.*?\[\d+\])/.exec(path)?.[1];
  if (entry && isList(entry.slice(0, entry.lastIndexOf("[")))) return entry;
  const bare = path.replace(/\[\d+\]$/, "");
  return bare.includes(".") ? bare.slice(0, bare.lastIndexOf(".")) : "";
}

export function groupOf(entity: string): GroupId {
  const list = entity.replace(/\[\d+\]$/, "");
  if (isList(list) && entity !== list) return lists[list].group;
  if (entity.startsWith("tube.train")) return "train";
  const top = entity.split(".")[0];
  return top === "support" || top === "mount" || top === "tube" ? top : "site";
}

const titles: Record<string, string> = {
  "": "Name and margin",
  site: "Place",
  support: "Support",
  mount: "Mount",
  tube: "Tube",
  "mount.crossing": "Crossing of the axes",
  "mount.polar_axis": "Where the polar axis points",
  "mount.zero_errors": "Errors of the zero",
  "mount.counterweights": "Counterweight bar",
  "mount.base": "Base",
  "mount.own_rules": "What the mount does by itself",
  "mount.travel": "Travel of the axes",
  "mount.slew": "Slewing",
  "support.out_of_level": "Out of level",
  "support.extension": "Pier extension",
  "tube.train": "Where the train starts",
  "tube.train.rotator": "Rotator",
};

function title(path: string, doc: Doc): string {
  const known = titles[path];
  if (known) return known;
  const name = doc.settings.find((s) => s.path === `${path}.name`)?.value;
  if (name) return name;
  const weight = /weights\[(\d+)\]$/.exec(path);
  if (weight) return `Counterweight ${String(Number(weight[1]) + 1)}`;
  const last = path.slice(path.lastIndexOf(".") + 1).replaceAll("_", " ");
  return last.charAt(0).toUpperCase() + last.slice(1);
}

// grouped puts the document's measures and words into groups, in the order in which a document has them.
export function grouped(doc: Doc): Group[] {
  const entities = new Map<string, Entity>();
  const find = (path: string): Entity => {
    let e = entities.get(path);
    if (!e) {
      const entry = /^(.*)\[(\d+)\]$/.exec(path);
      e = { path, title: title(path, doc), list: entry?.[1] ?? null, index: Number(entry?.[2] ?? -1), quantities: [], defaults: [], settings: [] };
      entities.set(path, e);
    }
    return e;
  };
  for (const q of doc.quantities) {
    const e = find(entityOf(q.path));
    (q.source === "default" ? e.defaults : e.quantities).push(q);
  }
  for (const s of doc.settings) if (s.path !== "legroom") find(entityOf(s.path)).settings.push(s);
  const ids = Object.keys(groupNames) as GroupId[];
  return ids.map((id) => ({ id, entities: [...entities.values()].filter((e) => groupOf(e.path) === id).sort(inOrder) }));
}

// Entries of one list stand together, in the list's own order.
function inOrder(a: Entity, b: Entity): number {
  return a.list !== null && a.list === b.list ? a.index - b.index : 0;
}

// label gives a measure's name with its first letter in upper case.
export function label(q: Pick<Quantity, "label" | "path">): string {
  const words = plainer[q.path.slice(q.path.lastIndexOf(".") + 1)] ?? q.label;
  return words.charAt(0).toUpperCase() + words.slice(1);
}

// Where the document's key alone says little.
const plainer: Record<string, string> = {
  from_mm: "from (station)",
  to_mm: "to (station)",
  at_mm: "at",
  beside_mm: "beside the tube's axis",
  start_mm: "start, from the tube's axis",
};
