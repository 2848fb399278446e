// The six places, in the order of an owner's questions.
export const places = [
  { id: "rig", name: "Rig", question: "What have I got?" },
  { id: "sky", name: "Sky", question: "Where can I point?" },
  { id: "tonight", name: "Tonight", question: "When does what run?" },
  { id: "changes", name: "Changes", question: "What would help?" },
  { id: "proof", name: "Proof", question: "Does the model tell the truth?" },
  { id: "watch", name: "Watch", question: "Is it safe now?" },
] as const;

export type PlaceId = (typeof places)[number]["id"];

export function isPlace(s: string | undefined): s is PlaceId {
  return places.some((p) => p.id === s);
}
