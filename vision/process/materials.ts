/** Where a density comes from. */
export type DensitySource = keyof typeof DENSITY_SOURCES;

export const DENSITY_SOURCES = {
  mineral: "Klein & Hurlbut, Manual of Mineralogy; Handbook of Mineralogy: ranges (from memory)",
  metal: "CRC Handbook of Chemistry and Physics, 20 to 25 °C (from memory)",
  polymer: "Review in Environmental Sciences Europe 27 (2015), table 1: ranges",
  handbook: "common handbook values (from memory)",
} as const;

export interface Material {
  readonly name: string;
  readonly densityKgPerM3: number;
  /** What the name can cover, kg/m³. Weigh your own when it matters. */
  readonly rangeKgPerM3: readonly [number, number];
  readonly source: DensitySource;
}

/** Rows of g/cm³: name, least, most, in use. */
const ROWS: Record<DensitySource, readonly (readonly [name: string, least: number, most: number, use: number])[]> = {
  mineral: [
    ["quartz", 2.65, 2.65, 2.65],
    ["feldspar", 2.55, 2.76, 2.6],
    ["calcite", 2.71, 2.71, 2.71],
    ["dolomite", 2.85, 2.87, 2.86],
    ["mica (muscovite)", 2.77, 2.88, 2.82],
    ["tourmaline", 3, 3.25, 3.1],
    ["fluorite", 3.18, 3.18, 3.18],
    ["topaz", 3.4, 3.6, 3.5],
    ["garnet (almandine)", 4.1, 4.3, 4.3],
    ["corundum", 3.95, 4.1, 4],
    ["rutile", 4.2, 4.25, 4.23],
    ["sphalerite", 3.9, 4.1, 4],
    ["chalcopyrite", 4.1, 4.3, 4.2],
    ["barite", 4.3, 4.6, 4.48],
    ["chromite", 4.3, 4.8, 4.6],
    ["zircon", 4.6, 4.7, 4.65],
    ["ilmenite", 4.5, 4.8, 4.7],
    ["pyrrhotite", 4.58, 4.65, 4.6],
    ["monazite", 4.6, 5.7, 5.1],
    ["pyrite", 4.95, 5.1, 5.02],
    ["magnetite", 5.1, 5.2, 5.18],
    ["hematite", 4.9, 5.3, 5.26],
    ["columbite", 5.2, 6.5, 5.5],
    ["scheelite", 5.9, 6.1, 6],
    ["arsenopyrite", 5.9, 6.2, 6.07],
    ["cerussite", 6.5, 6.57, 6.55],
    ["cassiterite", 6.8, 7.1, 6.95],
    ["wolframite", 7, 7.5, 7.3],
    ["galena", 7.4, 7.6, 7.5],
    ["tantalite", 6.5, 8.2, 7.9],
    ["cinnabar", 8, 8.2, 8.1],
    ["electrum", 13, 16, 15],
    ["platinum, native", 14, 19, 17],
    ["gold", 15, 19.3, 19.3],
    ["coal", 1.2, 1.7, 1.35],
    ["shale", 2.4, 2.7, 2.4],
  ],
  metal: [
    ["aluminium", 2.7, 2.7, 2.7],
    ["zinc", 7.14, 7.14, 7.14],
    ["tin (white)", 7.27, 7.31, 7.29],
    ["iron or steel", 7.85, 7.87, 7.87],
    ["brass", 8.4, 8.75, 8.5],
    ["tin-lead solder 60/40", 8.4, 8.6, 8.5],
    ["copper", 8.9, 8.96, 8.96],
    ["silver", 10.49, 10.49, 10.49],
    ["lead", 11.34, 11.34, 11.34],
  ],
  polymer: [
    ["PP", 0.83, 0.92, 0.91],
    ["PE, low density", 0.89, 0.93, 0.92],
    ["PE, high density", 0.94, 0.98, 0.95],
    ["PS", 1.04, 1.1, 1.05],
    ["PA", 1.02, 1.16, 1.13],
    ["PMMA", 1.09, 1.2, 1.18],
    ["PC", 1.2, 1.22, 1.2],
    ["PVC", 1.16, 1.58, 1.38],
    ["PET", 0.96, 1.45, 1.38],
    ["PTFE", 2.1, 2.3, 2.2],
  ],
  handbook: [
    ["ABS", 1.03, 1.07, 1.05],
    ["rubber, vulcanised", 1.1, 1.2, 1.15],
    ["glass-epoxy laminate", 1.8, 2, 1.85],
    ["glass (soda-lime)", 2.4, 2.6, 2.5],
  ],
};

const kg = (gramsPerCm3: number) => Math.round(gramsPerCm3 * 1000);

/** Minerals and scrap materials with their densities, lightest first. */
export const MATERIALS: readonly Material[] = (Object.keys(ROWS) as DensitySource[])
  .flatMap((source) =>
    ROWS[source].map(([name, least, most, use]) => ({
      name,
      densityKgPerM3: kg(use),
      rangeKgPerM3: [kg(least), kg(most)] as const,
      source,
    })),
  )
  .sort((a, b) => a.densityKgPerM3 - b.densityKgPerM3);

/** The material of that name, in any case of letters; null when it is not listed. */
export const materialNamed = (name: string): Material | null =>
  MATERIALS.find((material) => material.name.toLowerCase() === name.trim().toLowerCase()) ?? null;
