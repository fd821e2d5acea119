import { isSameCode } from '../../server/core/codes.ts';

/** Something a person did on one page that other pages of this visit can undo, too. */
export interface CarriedStep {
  /** What was done, to follow “Undo: ”. */
  readonly label: string;
  /** Codes of the products that it changed. */
  readonly products: readonly string[];
  undo(): Promise<void>;
  redo(): Promise<void>;
}

/** In the order in which they were done. They last until the window closes. */
const steps: CarriedStep[] = [];

export function carryStep(step: CarriedStep): void {
  steps.push(step);
}

/** Call when a step is undone, so that no other page undoes it again. */
export function dropCarriedStep(step: CarriedStep): void {
  const at = steps.indexOf(step);
  if (at >= 0) steps.splice(at, 1);
}

/** What was done on other pages to a product. */
export function listCarriedSteps(product: string): readonly CarriedStep[] {
  return steps.filter(({ products }) => products.some((code) => isSameCode(code, product)));
}
