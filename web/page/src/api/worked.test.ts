import assert from "node:assert/strict";
import { test } from "node:test";

import { Lines } from "./worked";

// The form of WHATWG HTML, server-sent events, as the server writes it, however it is cut into pieces.
test("events come whole from any pieces", () => {
  const text = 'event: progress\ndata: {"done":0.2}\n\nevent: answer\ndata: {"a":"µ"}\n\n';
  for (let cut = 0; cut <= text.length; cut++) {
    const l = new Lines();
    assert.deepEqual(
      [...l.add(text.slice(0, cut)), ...l.add(text.slice(cut))],
      [
        { event: "progress", data: '{"done":0.2}' },
        { event: "answer", data: '{"a":"µ"}' },
      ],
    );
  }
});
