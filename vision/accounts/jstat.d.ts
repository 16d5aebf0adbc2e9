/** The part of jstat 1.9.6 (MIT) that is used. The package ships no types. */
declare module "jstat" {
  const engine: {
    jStat: {
      normal: { cdf(z: number, mean: number, sd: number): number; inv(p: number, mean: number, sd: number): number };
      studentt: { cdf(t: number, freedom: number): number; inv(p: number, freedom: number): number };
      chisquare: { cdf(x: number, freedom: number): number; inv(p: number, freedom: number): number };
    };
  };
  export default engine;
}
