const inFlight = new Map<string, Promise<unknown>>();

/** Does work under a key. Whoever asks for the same key before it ends shares its result. */
export function shareInFlight<T>(key: string, work: () => Promise<T>): Promise<T> {
  const running = inFlight.get(key);
  if (running) return running as Promise<T>;
  const started = work().finally(() => inFlight.delete(key));
  inFlight.set(key, started);
  return started;
}
