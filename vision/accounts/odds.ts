/** The only door to jstat: chances of the normal, Student's and the chi-square distribution. */
import jstat from "jstat";

const { normal, studentt, chisquare } = jstat.jStat;

/** Share of a normal distribution below `z` standard deviations. */
export const normalBelow = (z: number): number => normal.cdf(z, 0, 1);
/** Standard deviations that a share of a normal distribution lies below. */
export const normalLimit = (share: number): number => normal.inv(share, 0, 1);
/** Share of Student's distribution below `t`. */
export const studentBelow = (t: number, freedom: number): number => studentt.cdf(t, freedom);
/** What a share of Student's distribution lies below; 0.975 for an interval that holds 95 %. */
export const studentLimit = (share: number, freedom: number): number => studentt.inv(share, freedom);
/** What a share of the chi-square distribution lies below. */
export const chiSquareLimit = (share: number, freedom: number): number => chisquare.inv(share, freedom);
