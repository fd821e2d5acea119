/**
 * Longest work without a pause. The browser then answers whoever asks whether the page still works, and a page for people
 * answers them.
 */
const BUSY_MS = 100;

let last = performance.now();

/** Lets messages to the page in between two steps of long work, at most every tenth of a second. */
export async function breathe(): Promise<void> {
  if (performance.now() - last < BUSY_MS) return;
  // unlike a timer, a message does not wait
  await new Promise<void>((resolve) => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = () => {
      port1.close();
      resolve();
    };
    port2.postMessage(null);
  });
  last = performance.now();
}
