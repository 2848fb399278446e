// Takes the funding links out of the lock file: they hold host names and change without the packages.
import { readFileSync, writeFileSync } from "node:fs";

const file = new URL("package-lock.json", import.meta.url);
const lock = JSON.parse(readFileSync(file, "utf8"));
for (const p of Object.values(lock.packages)) {
  delete p.funding;
  delete p.resolved;
}
writeFileSync(file, JSON.stringify(lock, null, 2) + "\n");
