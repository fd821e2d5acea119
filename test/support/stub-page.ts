import { vi } from 'vitest';
import type { TestService } from './start-service.ts';

/**
 * Gives the models of the pages what they use of a browser: calls reach the service; nothing is drawn, observed or focused.
 * `vi.unstubAllGlobals` ends it.
 * @param onAnswer is called for each answer before the model gets it
 */
export function stubPage(
  service: TestService,
  onAnswer: (method: string, path: string) => void = () => undefined,
): void {
  const { fetch } = globalThis;
  vi.stubGlobal('fetch', async (path: string, init: RequestInit) => {
    const answer = await fetch(new URL(path, service.url), init);
    onAnswer(init.method ?? 'GET', path);
    return answer;
  });
  vi.stubGlobal('requestAnimationFrame', () => 0);
  vi.stubGlobal(
    'ResizeObserver',
    class {
      observe() {}
      unobserve() {}
      disconnect() {}
    },
  );
}
