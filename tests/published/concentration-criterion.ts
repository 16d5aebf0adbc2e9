/**
 * Concentration criterion: dense and light material with g/cm³, value in water (null: the light one floats), band, value
 * in a thin slurry of 1.10 (null: floats). Bands, after Taggart (1945) and Wills (from memory): B1 above 2.5, B2 1.75 to
 * 2.5, B3 1.5 to 1.75, B4 1.25 to 1.5, B5 below, B6 the light one floats.
 *
 * Values worked out; tolerance 1e-4.
 */
export const CRITERION_TABLE: readonly (readonly [
  dense: string,
  denseDensity: number,
  light: string,
  lightDensity: number,
  value: number | null,
  band: "B1" | "B2" | "B3" | "B4" | "B5" | "B6",
  inSlurry: number | null,
])[] = [
  ["gold", 19.3, "quartz", 2.65, 11.0909, "B1", 11.7419],
  ["electrum", 16.0, "quartz", 2.65, 9.0909, "B1", 9.6129],
  ["cassiterite", 6.95, "quartz", 2.65, 3.6061, "B1", 3.7742],
  ["galena", 7.5, "quartz", 2.65, 3.9394, "B1", 4.129],
  ["wolframite", 7.3, "quartz", 2.65, 3.8182, "B1", 4.0],
  ["scheelite", 6.0, "quartz", 2.65, 3.0303, "B1", 3.1613],
  ["tantalite", 8.0, "quartz", 2.65, 4.2424, "B1", 4.4516],
  ["magnetite", 5.18, "quartz", 2.65, 2.5333, "B1", 2.6323],
  ["hematite", 5.26, "quartz", 2.65, 2.5818, "B1", 2.6839],
  ["chromite", 4.6, "olivine-serpentine", 2.7, 2.1176, "B2", 2.1875],
  ["ilmenite", 4.7, "quartz", 2.65, 2.2424, "B2", 2.3226],
  ["zircon", 4.65, "quartz", 2.65, 2.2121, "B2", 2.2903],
  ["barite", 4.48, "quartz", 2.65, 2.1091, "B2", 2.1806],
  ["pyrite", 5.02, "quartz", 2.65, 2.4364, "B2", 2.529],
  ["sphalerite", 4.0, "quartz", 2.65, 1.8182, "B2", 1.871],
  ["almandine garnet", 4.3, "quartz", 2.65, 2.0, "B2", 2.0645],
  ["fluorite", 3.18, "quartz", 2.65, 1.3212, "B4", 1.3419],
  ["gold", 19.3, "magnetite", 5.18, 4.378, "B1", 4.4608],
  ["gold", 19.3, "pyrite", 5.02, 4.5522, "B1", 4.6429],
  ["cassiterite", 6.95, "magnetite", 5.18, 1.4234, "B4", 1.4338],
  ["wolframite", 7.3, "cassiterite", 6.95, 1.0588, "B5", 1.0598],
  ["galena", 7.5, "sphalerite", 4.0, 2.1667, "B2", 2.2069],
  ["shale", 2.4, "coal", 1.35, 4.0, "B1", 5.2],
  ["copper", 8.96, "rigid PVC", 1.38, 20.9474, "B1", 28.0714],
  ["copper", 8.96, "ABS", 1.05, 159.2, "B1", null],
  ["copper", 8.96, "PE", 0.95, null, "B6", null],
  ["aluminium", 2.7, "rigid PVC", 1.38, 4.4737, "B1", 5.7143],
  ["copper", 8.96, "aluminium", 2.7, 4.6824, "B1", 4.9125],
  ["copper", 8.96, "glass-epoxy laminate", 1.85, 9.3647, "B1", 10.48],
  ["brass", 8.5, "glass", 2.5, 5.0, "B1", 5.2857],
  ["lead", 11.34, "rigid PVC", 1.38, 27.2105, "B1", 36.5714],
  ["lead", 11.34, "copper", 8.96, 1.299, "B4", 1.3028],
  ["ferrochrome", 6.8, "slag", 3.0, 2.9, "B1", 3.0],
  ["PET", 1.38, "PS", 1.05, 7.6, "B1", null],
];
