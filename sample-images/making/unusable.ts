/** Photos that nobody can read, each of a table or plant of the samples, to see that they are refused with the reason. */
import { SAMPLES } from "./samples.ts";
import { PHOTO, type Scenario } from "./scenario.ts";

const table = (name: string): Scenario => SAMPLES.find((sample) => sample.name === name)!;

const tubes = table("black-sand");
const window = table("sulphide-window");
const night = table("night-tin-overload");
const workshop = table("garnet-rill");
const yard = table("copper-scrap-low");

export const UNUSABLE: Scenario[] = [
  {
    ...tubes,
    name: "shaken",
    scenario: "Taken in poor light while walking past: the phone turned while the picture was taken.",
    seed: 1201,
    camera: { ...tubes.camera, azimuth: 4, elevation: 41, jerk: [3.4, 2.6] },
    light: { ...tubes.light, exposure: 0 },
    photo: { ...PHOTO, noise: 1.6, blur: 3, date: "2025:03:11 10:24:00" },
    unusable: { because: "shaken: every edge is smeared over some 100 mm of the deck", issue: "blurred" },
  },
  {
    ...window,
    name: "out-of-focus",
    scenario: "Taken through a wet lens that focused on the drops: the whole picture is one soft blur.",
    seed: 1205,
    camera: { ...window.camera, azimuth: 22, elevation: 40 },
    photo: { ...window.photo, blur: 52, date: "2025:02:20 15:44:00" },
    unusable: { because: "out of focus: the deck is blurred over some 60 mm", issue: "blurred" },
  },
  {
    ...night,
    name: "too-dark",
    scenario: "Taken at night with the bulbs over the table out; only the light of the next hall falls in.",
    seed: 1202,
    camera: { ...night.camera, azimuth: 10 },
    light: { ...night.light, exposure: -5.2, lamps: [{ ...night.light.lamps![1]!, at: [3.2, -2.4, 2.2] }] },
    photo: { ...night.photo, noise: 2.2, date: "2025:10:02 22:55:00" },
    unusable: { because: "far too dark: what light there is drowns in the noise", issue: "dark" },
  },
  {
    ...workshop,
    name: "cut-off",
    scenario: "Taken from too near and aimed at the drive: the end where the bands leave is not in the picture.",
    seed: 1203,
    camera: { ...workshop.camera, aside: 40 },
    photo: { ...workshop.photo, date: "2025:06:03 14:14:00" },
    unusable: { because: "cut off: the dense-product end and the outlet are not in it", issue: "cut-off" },
  },
  {
    ...yard,
    name: "no-deck",
    scenario:
      "Taken by mistake: the store beside the table. Crates have straight edges and corners, but none is a deck.",
    seed: 1204,
    plant: { ...yard.plant, clutter: 8 },
    photo: { ...yard.photo, date: "2025:05:14 11:34:00" },
    unusable: { because: "no deck is in the picture", issue: "no-deck" },
  },
];
