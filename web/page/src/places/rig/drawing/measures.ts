import { extraMeasures } from "./measures_extra";
import { generalMeasures } from "./measures_general";
import { mountMeasures } from "./measures_mount";
import { supportMeasures } from "./measures_support";
import { trainMeasures } from "./measures_train";
import { tubeMeasures } from "./measures_tube";
import type { Model } from "./solids";
import type { Measure, Table } from "./views";

const tables: Table = [
  ...generalMeasures,
  ...supportMeasures,
  ...mountMeasures,
  ...trainMeasures,
  ...tubeMeasures,
  ...extraMeasures,
];

export function measure(m: Model, path: string): Measure | undefined {
  for (const [pattern, make] of tables) {
    const match = pattern.exec(path);
    if (match) return make(m, match);
  }
  return undefined;
}
