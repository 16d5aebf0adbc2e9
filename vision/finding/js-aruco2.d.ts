/** The part of js-aruco2 2.0.0 (MIT; parts BSD) that is used. The package ships no types. */
declare module "js-aruco2" {
  interface Corner {
    x: number;
    y: number;
  }
  interface FoundMarker {
    id: number;
    /** In pixel indices: the print's own top-left corner first, then clockwise on the print. */
    corners: Corner[];
    hammingDistance: number;
  }
  interface Dictionary {
    /** Bits as text, row by row, "1" white. */
    codeList: string[];
    /** Cells along a side, border included. */
    markSize: number;
  }
  const engine: {
    AR: {
      DICTIONARIES: Record<string, unknown>;
      Dictionary: new (name: string) => Dictionary;
      Detector: new (settings: {
        dictionaryName: string;
        maxHammingDistance: number;
      }) => {
        detectImage(width: number, height: number, rgba: Uint8Array | Uint8ClampedArray): FoundMarker[];
      };
    };
  };
  export default engine;
}
