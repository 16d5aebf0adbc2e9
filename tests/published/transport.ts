/**
 * Grains under the film of 20 °C, 20 L/min, 1/4 in/ft (0.25751 Pa): name, mm, kg/m³, D*, threshold, Shields number over it,
 * whether it moves.
 *
 * Source: Soulsby (1997), Dynamics of Marine Sands (from memory), worked out apart from this program; tolerance 0.1 %.
 */
export const SHIELDS_GRAINS = [
  ["quartz", 0.5, 2650, 12.6301, 0.03085, 1.0308, "moves"],
  ["quartz", 0.2, 2650, 5.052, 0.04776, 1.6642, "moves"],
  ["gold", 0.1, 19300, 5.6314, 0.04453, 0.3222, "stays"],
  ["gold", 0.05, 19300, 2.8157, 0.07152, 0.4012, "stays"],
  ["cassiterite", 0.2, 6950, 7.7452, 0.03704, 0.5956, "stays"],
  ["galena", 0.2, 7500, 7.9768, 0.03649, 0.5535, "stays"],
] as const;
