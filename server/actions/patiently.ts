import { isBusyNow, waitWhileBusy } from './busy.ts';

/** How often is waited for a busy studio: a download half done is of no use. */
const BUSY_TRIES = 120;

/** Does it, waiting while the studio is full of other pictures. */
export async function patiently<T>(take: () => Promise<T>): Promise<T> {
  for (let attempt = 1; ; attempt++) {
    try {
      return await take();
    } catch (error) {
      if (!isBusyNow(error) || attempt === BUSY_TRIES) throw error;
      await waitWhileBusy();
    }
  }
}
