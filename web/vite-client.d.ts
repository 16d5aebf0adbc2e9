/// <reference types="vite/client" />
declare module "exifr/dist/mini.esm.mjs" {
  export { parse } from "exifr";
}
