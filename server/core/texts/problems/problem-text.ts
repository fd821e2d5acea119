import type { ProblemCode } from '../../problems.ts';

/**
 * A text of the catalogue: a sentence, or a pure function from values to one. It says what happened, what was expected and
 * what to do next.
 */
export type ProblemText = string | ((...values: never[]) => string);

/** Texts by the code they belong to. A code with several texts names each of them. */
export type ProblemTexts = {
  readonly [Code in ProblemCode]?: ProblemText | Readonly<Record<string, ProblemText>>;
};
