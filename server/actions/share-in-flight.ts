const underWay = new Map<string, Promise<unknown>>();

/** Does work under a key; whoever asks for the same key meanwhile gets the same result. */
export function once<T>(key: string, work: () => Promise<T>): Promise<T> {
  const running = underWay.get(key);
  if (running) return running as Promise<T>;
  const started = work().finally(() => underWay.delete(key));
  underWay.set(key, started);
  return started;
}
