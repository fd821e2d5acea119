import { signal } from '@preact/signals';
import type { ComponentType } from 'preact';
import { useEffect } from 'preact/hooks';
import { commonTexts } from '../texts/common.ts';
import { Notice } from './form.tsx';

/** A page whose code is fetched when it is first shown, so that the first page does not wait for all others. */
export function lazyPage<Props extends object>(load: () => Promise<ComponentType<Props>>): ComponentType<Props> {
  const loaded = signal<ComponentType<Props> | null>(null);
  const failed = signal(false);
  return function LazyPage(props: Props) {
    const Page = loaded.value;
    useEffect(() => {
      if (loaded.peek()) return;
      failed.value = false;
      load().then(
        (page) => {
          loaded.value = page;
        },
        () => {
          failed.value = true;
        },
      );
    }, []);
    if (Page) return <Page {...props} />;
    return (
      <Notice text={failed.value ? commonTexts.shell.notLoaded : null}>
        <button type="button" onClick={() => location.reload()}>
          {commonTexts.shell.reload}
        </button>
      </Notice>
    );
  };
}
