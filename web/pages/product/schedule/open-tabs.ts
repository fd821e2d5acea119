/** Tells this tab from others, which may have drafts of the same schedule. A page that is loaded again is another tab. */
export const THIS_TAB = `${Date.now().toString(36)}-${Math.random().toString(36).slice(2)}`;

type Word = { readonly ask: string } | { readonly open: string; readonly tab: string };

/** Products that are open in this tab. */
const open = new Set<string>();
/** Tabs that answered, by product. */
const heard = new Map<string, Set<string>>();
let channel: BroadcastChannel | null = null;

/**
 * How long the other tabs have to answer. A tab that is too slow loses nothing: another one takes over a copy of its draft, and
 * equal edits on both sides are one when they are saved.
 */
const ANSWER_MS = 300;

function listen(): BroadcastChannel | null {
  if (channel || typeof BroadcastChannel === 'undefined') return channel;
  channel = new BroadcastChannel('dyeworks-schedules');
  channel.addEventListener('message', ({ data }: MessageEvent<Word>) => {
    if ('tab' in data) heard.get(data.open)?.add(data.tab);
    else if (open.has(data.ask)) channel?.postMessage({ open: data.ask, tab: THIS_TAB } satisfies Word);
  });
  return channel;
}

/** Lets other tabs know that the schedule of a product is in use here. @returns ends it */
export function openInTab(product: string): () => void {
  listen();
  open.add(product);
  return () => open.delete(product);
}

/** The other tabs in which a product is open. */
export async function listOtherTabs(product: string): Promise<ReadonlySet<string>> {
  const answers = new Set<string>();
  heard.set(product, answers);
  listen()?.postMessage({ ask: product } satisfies Word);
  await new Promise((resolve) => setTimeout(resolve, ANSWER_MS));
  return answers;
}
