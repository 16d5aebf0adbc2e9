// Some tests need programs that no package of npm has: say so before they start, and on a Debian machine of our own put them there.
import { spawnSync } from "node:child_process";
import { existsSync } from "node:fs";

const chromium = process.env.CHROMIUM ?? "/usr/bin/chromium";
const postgres = process.env.POSTGRES_BIN ?? "/usr/lib/postgresql";
const missing = [...(existsSync(chromium) ? [] : ["chromium"]), ...(existsSync(postgres) ? [] : ["postgresql"])];
const named = process.env.CHROMIUM || process.env.POSTGRES_BIN; // whoever names them sees to them

if (missing.length > 0 && !named && process.getuid?.() === 0 && existsSync("/etc/debian_version")) {
  console.log(`Installing Debian's ${missing.join(" and ")} for the tests.`);
  const options = {
    stdio: ["ignore", "ignore", "inherit"],
    env: { ...process.env, DEBIAN_FRONTEND: "noninteractive" },
  };
  const run = (...args) => spawnSync("apt-get", args, options).status === 0;
  if (run("update", "-q")) run("install", "-y", "-q", "--no-install-recommends", ...missing);
}
if (!existsSync(postgres)) {
  console.log(
    `Nothing is tested on PostgreSQL: it is not at ${postgres}. Install the package "postgresql", or set POSTGRES_BIN.`,
  );
}
if (!existsSync(chromium)) {
  console.error(
    `The browser tests need Chromium at ${chromium}: install the package "chromium", or set CHROMIUM to its path.`,
  );
  process.exit(1);
}
