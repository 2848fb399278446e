import type { Figures } from "./figures";
import { measure } from "./measures";
import { sheet, type Sheet } from "./sheet";
import { Model } from "./solids";

export type { Item, Sheet } from "./sheet";
export { figuresOf, type Entry, type Figures } from "./figures";

/** The drawing of one measure and the same in words. */
export interface Drawing {
  readonly sheet: Sheet;
  readonly text: string;
}

/**
 * Draws the measure at a document's path to the rig's own proportions, with the value beside its mark; nothing where no such
 * measure is known.
 */
export function draw(figures: Figures, path: string, value: string): Drawing | undefined {
  const model = new Model(figures);
  const m = measure(model, numbered(figures, path));
  if (!m) return undefined;
  const within = (of: string) => m.show === undefined || m.show.some((p) => of === p || (of.startsWith(p) && /[.[]/.test(of.charAt(p.length))));
  return {
    sheet: sheet({
      view: m.view,
      solids: model.solids.filter((s) => within(s.of)),
      ghosts: m.ghosts ?? [],
      of: m.of,
      mark: m.mark,
      guides: m.guides ?? [],
      value,
    }),
    text: `${m.text} Seen ${m.view.seen}.${m.enlarged ? " Drawn larger than it is." : ""}`,
  };
}

/** Puts an entry's index where a path names it: tube.train.items[filter wheel].height_mm. */
function numbered(figures: Figures, path: string): string {
  return path.replace(/^(.*?)\[([^\]]*[^\]\d][^\]]*)\]/, (whole, list: string, name: string) => {
    for (let i = 0; i < figures.entries(list); i++) if (figures.word(`${list}[${i}].name`) === name) return `${list}[${i}]`;
    return whole;
  });
}
