/** Minerals and scrap materials with their densities, loaded when the material is asked for. */
export { MATERIALS } from "../vision/process/materials.ts";
