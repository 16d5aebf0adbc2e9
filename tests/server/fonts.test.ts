import { execFileSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { expect, test } from "vitest";

const ROOT = fileURLToPath(new URL("../../", import.meta.url));

/** Prints the drawn width of the narrowest and of the widest letters; boxes for missing letters are all of one width. */
const MEASURE = `
import sharp from "sharp";
const width = async (text) => {
  const svg = '<svg xmlns="http://www.w3.org/2000/svg" width="400" height="60"><text x="9" y="40" font-size="30" font-family="DejaVu Sans" font-weight="bold">' + text + "</text></svg>";
  return (await sharp(Buffer.from(svg)).trim().toBuffer({ resolveWithObject: true })).info.width;
};
console.log(JSON.stringify([await width("iiii"), await width("MMMM")]));
`;

test("letters are drawn on a machine without fonts of its own", () => {
  const folder = mkdtempSync(join(tmpdir(), "fonts-"));
  try {
    mkdirSync(join(folder, "server"));
    symlinkSync(join(ROOT, "node_modules"), join(folder, "node_modules"));
    const own = readFileSync(join(ROOT, "server/fonts.conf"), "utf8").replace(/<include.*<\/include>/, "");
    writeFileSync(join(folder, "server/fonts.conf"), own);
    const env = { ...process.env, FONTCONFIG_FILE: join(folder, "server/fonts.conf"), XDG_CACHE_HOME: folder };
    const said = execFileSync(process.execPath, ["--input-type=module", "-e", MEASURE], { cwd: ROOT, env });
    const [narrow, wide] = JSON.parse(said.toString());
    expect(narrow).toBeGreaterThan(10);
    expect(wide).toBeGreaterThan(2 * narrow);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
});
