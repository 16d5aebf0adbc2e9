// Browser tests need Chromium: say so before they start, and on a Debian machine of our own put it there.
import { spawnSync } from "node:child_process";
import { existsSync } from "node:fs";

const wanted = process.env.CHROMIUM ?? "/usr/bin/chromium";

if (!existsSync(wanted)) {
  const mayInstall = !process.env.CHROMIUM && process.getuid?.() === 0 && existsSync("/etc/debian_version");
  if (mayInstall) {
    console.log("Chromium is not there; installing Debian's.");
    const options = {
      stdio: ["ignore", "ignore", "inherit"],
      env: { ...process.env, DEBIAN_FRONTEND: "noninteractive" },
    };
    const run = (...args) => spawnSync("apt-get", args, options).status === 0;
    if (run("update", "-q")) run("install", "-y", "-q", "--no-install-recommends", "chromium");
  }
  if (!existsSync(wanted)) {
    console.error(
      `The browser tests need Chromium at ${wanted}: install the package "chromium", or set CHROMIUM to its path.`,
    );
    process.exit(1);
  }
}
