/** The words on an overlay, so that whoever shows it can give them in another language. */
export interface OverlayWords {
  /** As they stand in the legend. */
  readonly dense: string;
  readonly middling: string;
  readonly light: string;
  readonly dry: string;
  readonly unseen: string;
  readonly dryPatch: string;
  readonly rill: string;
  readonly edge: string;
  readonly splitterNow: string;
  readonly splitterNext: string;
  /** Other words for splitters of these names. */
  readonly splitterNames: Readonly<Record<string, string>>;
  readonly rulerMm: string;
  /** Where the deck's size is assumed. */
  readonly rulerPercent: string;
  /** Of the whole picture, before the deck's name. */
  readonly bandsOn: string;
  readonly unreadable: string;
  /** BCP 47: how its letters are made capitals. */
  readonly language: string;
}
export const ENGLISH: OverlayWords = {
  dense: "dense",
  middling: "middling",
  light: "light",
  dry: "dry",
  unseen: "not seen",
  dryPatch: "dry patch",
  rill: "water rill",
  edge: "edge ± error",
  splitterNow: "splitter now",
  splitterNext: "splitter next",
  splitterNames: {},
  rulerMm: "ruler: mm along the outlet",
  rulerPercent: "ruler: % of the outlet; deck size assumed",
  bandsOn: "Bands on",
  unreadable: "This photo could not be read",
  language: "en",
};
