// Runs the tests beside the sources, src/**/*.test.ts: Vite makes plain modules of them, and Node's own runner does the rest.
import { spawnSync } from "node:child_process";
import { mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { build } from "vite";

const tests = readdirSync("src", { recursive: true }).filter((f) => f.endsWith(".test.ts"));
const out = mkdtempSync(join(tmpdir(), "page-tests-"));
try {
  await build({
    logLevel: "error",
    ssr: { noExternal: true }, // the modules stand alone in their folder
    build: {
      ssr: true,
      outDir: out,
      emptyOutDir: true,
      rolldownOptions: {
        input: Object.fromEntries(tests.map((f) => [f.replaceAll(/[/\\]/g, "-").replace(/\.ts$/, ""), join("src", f)])),
        output: { entryFileNames: "[name].mjs", chunkFileNames: "[name].mjs" },
      },
    },
  });
  const files = readdirSync(out).filter((f) => f.endsWith(".test.mjs"));
  process.exitCode = spawnSync(process.execPath, ["--test", ...files.map((f) => join(out, f))], { stdio: "inherit" }).status ?? 1;
} finally {
  rmSync(out, { recursive: true });
}
