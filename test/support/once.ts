/** Does work once, and shares its result with all callers. After a failure the next caller tries again. */
export function once<Result>(work: () => Promise<Result>): () => Promise<Result> {
  let result: Promise<Result> | undefined;
  return () => {
    result ??= work().catch((error: unknown) => {
      result = undefined;
      throw error;
    });
    return result;
  };
}
