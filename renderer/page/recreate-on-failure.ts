/** A decoder of three's, which is set up on first need and again after a failure. */
export interface Renewed<T> {
  /** Does one piece of work with it. @throws what the work throws, and an Error where it is not done in time */
  use<R>(work: (decoder: T) => Promise<R>): Promise<R>;
  dispose(): void;
}

/**
 * A damaged file can spoil a decoder's memory, or leave it hanging so that it never answers. After a failure nothing new is
 * given to it, and it goes once nothing is under way with it.
 * @param timeoutMs after which work counts as hanging
 */
export function recreateOnFailure<T extends { dispose(): unknown }>(make: () => T, timeoutMs: number): Renewed<T> {
  let current: { readonly decoder: T; underWay: number } | undefined;
  return {
    async use(work) {
      current ??= { decoder: make(), underWay: 0 };
      const own = current;
      own.underWay++;
      let timer: ReturnType<typeof setTimeout> | undefined;
      const late = new Promise<never>((_, reject) => {
        timer = setTimeout(() => reject(new Error('The decoder does not answer.')), timeoutMs);
      });
      try {
        return await Promise.race([work(own.decoder), late]);
      } catch (error) {
        if (current === own) current = undefined;
        throw error;
      } finally {
        clearTimeout(timer);
        own.underWay--;
        if (current !== own && own.underWay === 0) own.decoder.dispose();
      }
    },
    dispose() {
      current?.decoder.dispose();
    },
  };
}
