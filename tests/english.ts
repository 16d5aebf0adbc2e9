import { speechIn } from "../server/speech.ts";
import type { Told } from "../vision/contract/index.ts";
import { tell } from "../vision/telling/index.ts";

const plain = (text: string) => text.replaceAll("\u00a0", " ");
/** Sentences as people who read English are told them, with plain spaces. */
export const inEnglish = (told: readonly Told[]): string[] => told.map((one) => plain(tell(speechIn("en"), one)));
