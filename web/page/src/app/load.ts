import type { Component } from "svelte";

import type { PlaceId } from "./places";

// Each place is a file of its own, fetched when it is first gone to.
export const load: Record<PlaceId, () => Promise<{ default: Component }>> = {
  rig: () => import("../places/rig/Rig.svelte"),
  sky: () => import("../places/sky/Sky.svelte"),
  tonight: () => import("../places/tonight/Tonight.svelte"),
  changes: () => import("../places/changes/Changes.svelte"),
  proof: () => import("../places/proof/Proof.svelte"),
  watch: () => import("../places/watch/Watch.svelte"),
};
