import assert from "node:assert/strict";
import { test } from "node:test";

import { Tabs } from "./tabs";

test("a tab that was too busy to answer in time is told of once it answers", async () => {
  const kept = new Map<string, string>();
  globalThis.sessionStorage = { getItem: (k: string) => kept.get(k) ?? null, setItem: (k: string, v: string) => kept.set(k, v) } as unknown as Storage;
  const busy = new BroadcastChannel("legroom.tabs");
  const answered = new Promise<void>((done) => {
    busy.onmessage = () => setTimeout(() => (busy.postMessage({ from: "busy", rig: "mine", asks: false }), done()), 200);
  });
  let seen = 0;
  const tabs = new Tabs(() => seen++);
  await tabs.asked("mine");
  assert.deepEqual([tabs.others, seen], [[], 0]);
  await answered;
  await new Promise((done) => setTimeout(done, 50));
  busy.close();
  tabs.close();
  assert.deepEqual([tabs.others, seen], [["busy"], 1]);
});
