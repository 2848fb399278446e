import type { Walk } from "../../api/shapes";

type Times = Pick<Walk["proof"], "begins" | "ends" | "sun">;

// sunWords says what a walk's poses know of the Sun at a moment: they were chosen for their own hours, and for no others.
export function sunWords(p: Times, now: number): { text: string; alarm: boolean } {
  const [from, to] = [Date.parse(p.begins), Date.parse(p.ends)];
  const night = "Walks are for daylight, with the cap on: choose one that begins by day.";
  if (now > to) return { text: "The hours that these poses were chosen for are over, and the Sun stands elsewhere: choose new poses before you move the mount.", alarm: true };
  if (!p.sun) return { text: `The Sun is down in those hours, and in no others are these poses away from it. ${night}`, alarm: true };
  const early = now < from;
  return {
    text: early
      ? "The Sun is up in those hours: the poses keep away from it then, and not before."
      : "The Sun is up: the poses keep away from it until then.",
    alarm: early,
  };
}
