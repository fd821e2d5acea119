import { expect } from 'vitest';
import { Problem, type ProblemCode } from '../../server/core/problems.ts';

/** The problem that a call is refused with. Fails when the call is not refused, or throws anything but a problem. */
export async function refusalOf(call: () => unknown): Promise<Problem> {
  let result: unknown;
  try {
    result = await call();
  } catch (error) {
    if (error instanceof Problem) return error;
    throw error;
  }
  return expect.fail(`was not refused: ${JSON.stringify(result)?.slice(0, 300)}`);
}

/** Expects a refusal with one code (or one of several), and returns it for further checks. */
export async function expectRefusal(call: () => unknown, ...codes: ProblemCode[]): Promise<Problem> {
  const problem = await refusalOf(call);
  expect(codes).toContain(problem.code);
  return problem;
}
