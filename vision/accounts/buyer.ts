import type { Figure, Penalty, PriceName } from "../contract/index.ts";
import { checked } from "./fault.ts";

/** What a buyer pays for a tonne of dense product, as plain numbers; money in that of the prices. */
export interface Terms {
  /** For a tonne of metal that is paid for. */
  readonly metal: number;
  /** Share of the metal that is paid for, 0 to 1, and points of the grade that never are. */
  readonly payable: number;
  readonly deductionPercent: number;
  /** For a tonne of product. */
  readonly treatment: number;
  /** For a tonne of product and each % of an assay above a limit. */
  readonly penalties: readonly { readonly assay: string; readonly perPercent: number; readonly abovePercent: number }[];
}

/** The figures that terms are made of, in a fixed order, so that each can be drawn with its error. */
export const TERM_NAMES = ["metal", "payable", "deduction", "treatment"] as const satisfies readonly PriceName[];
/** What holds where nobody told it: all metal is paid for and nothing taken off, as where `metal` is what one is paid. */
export const USUAL_TERMS: Readonly<Record<(typeof TERM_NAMES)[number], number>> = {
  metal: 0,
  payable: 100,
  deduction: 0,
  treatment: 0,
};

/** Terms of plain figures. @param of  A figure as a number: its value, or a draw of it. */
export function termsOf(
  prices: Partial<Record<PriceName, Figure>>,
  penalties: Readonly<Record<string, Penalty>>,
  of: (figure: Figure) => number = ({ value }) => value,
): Terms {
  const told = (name: (typeof TERM_NAMES)[number]) => {
    const figure = prices[name];
    return figure ? of(figure) : USUAL_TERMS[name];
  };
  return {
    metal: told("metal"),
    payable: Math.min(1, Math.max(0, told("payable") / 100)),
    deductionPercent: Math.max(0, told("deduction")),
    treatment: told("treatment"),
    penalties: Object.entries(penalties).flatMap(([assay, { penalty, "penalty above": above }]) =>
      penalty ? [{ assay, perPercent: of(penalty), abovePercent: above ? of(above) : 0 }] : [],
    ),
  };
}

/**
 * What a tonne of dense product is paid with, all charges taken off; below 0 where they are more than its metal.
 *
 * @param gradePercent  Of the metal it is sold for.
 * @param others  Assays that penalties are for, %.
 * @throws {AccountsError} `out-of-range` for a grade beyond 0 to 100 %.
 * Source: smelter terms as concentrates are sold by: the lesser of a share of the metal and the grade less a deduction, a
 *         treatment charge a tonne, penalties by the point (Wills & Finch 2016, ch. 1: from memory; common practice).
 */
export function paidPerTonne(
  terms: Terms,
  gradePercent: number,
  others: Readonly<Record<string, number>> = {},
): number {
  checked("Grade of the dense product, %", gradePercent, 0, 100);
  const { metal, payable, deductionPercent, treatment, penalties } = terms;
  const paidPercent = Math.max(0, Math.min(payable * gradePercent, gradePercent - deductionPercent));
  const taken = penalties.reduce(
    (sum, { assay, perPercent, abovePercent }) => sum + perPercent * Math.max(0, (others[assay] ?? 0) - abovePercent),
    0,
  );
  return (metal * paidPercent) / 100 - treatment - taken;
}
