import { expect, it } from "vitest";
import { deckStateOf } from "../../vision/deck-state.ts";

const smeared = [{ kind: "shake-blur", say: "The shake smears the photo along the riffles." }];
it("goes by what the person says, then by a burst, then by smear along the riffles; a sharp photo alone does not tell", () => {
  expect(deckStateOf({}, [])).toBe("unknown");
  expect(deckStateOf({ settings: { strokesPerMinute: 290 } }, [])).toBe("unknown"); // what it is set to, standing or not
  expect(deckStateOf({ settings: { strokesPerMinute: 0 } }, smeared)).toBe("stopped");
  expect(deckStateOf({ deckState: "stopped" }, [])).toBe("stopped");
  expect(deckStateOf({ deckState: "running" }, [])).toBe("running");
  expect(deckStateOf({ deckState: "unknown" }, smeared)).toBe("running");
  expect(deckStateOf({}, [{ kind: "glare", say: "" }])).toBe("unknown");
});
