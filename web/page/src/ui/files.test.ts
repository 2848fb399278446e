import assert from "node:assert/strict";
import { test } from "node:test";

import { csv } from "./files";

// RFC 4180: fields with a comma, a quote or a line break are quoted, quotes doubled, lines end in CRLF.
test("rows as CSV", () => {
  assert.equal(csv([["a", 'b "c"', null], [1.5, "x,y", "two\nlines"]]), 'a,"b ""c""",\r\n1.5,"x,y","two\nlines"\r\n');
});
