import { useRef } from 'preact/hooks';
import { MODEL_ENDINGS } from '../upload-model.ts';
import { useFileDrop } from './use-file-drop.ts';

interface DropLineProps {
  /** What dropping does, as a sentence. */
  readonly text: string;
  readonly button: string;
  readonly onFile: (file: File) => void;
  /** Endings of the files to choose from, with commas between; those of models when left out. */
  readonly accept?: string;
}

/** A place to drop a file, which is also a button to choose one. The whole page takes the drop. */
export function DropLine({ text, button, onFile, accept = MODEL_ENDINGS }: DropLineProps) {
  const field = useRef<HTMLInputElement>(null);
  const over = useFileDrop(onFile);
  return (
    <div class={over.value ? 'drop over' : 'drop'}>
      <p>{over.value ? 'Let go to take the file.' : text}</p>
      <button type="button" onClick={() => field.current?.click()}>
        {button}
      </button>
      <input
        ref={field}
        type="file"
        class="unseen"
        tabIndex={-1}
        aria-label={button}
        accept={accept}
        onChange={(event) => {
          const file = event.currentTarget.files?.[0];
          event.currentTarget.value = '';
          if (file) onFile(file);
        }}
      />
    </div>
  );
}
