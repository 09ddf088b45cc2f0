// Measures how long the graphics take to finish a picture, without waiting for them.

const POLL_MS = 4;
/** The longest time counted; with a lost context a picture never finishes. */
const LONGEST_MS = 2000;

export interface Stopwatch {
  /** Times what was started then and just submitted, one at a time; false where that cannot be told. */
  time: (started_ms: number, finished: (took_ms: number) => void) => boolean;
  stop: () => void;
}

export function makeStopwatch(context: WebGL2RenderingContext): Stopwatch {
  let timer = 0;
  let running: WebGLSync | null = null;
  const stop = (): void => {
    window.clearTimeout(timer);
    if (running) context.deleteSync(running);
    running = null;
  };
  return {
    stop,
    time: (started_ms, finished) => {
      if (running) return true;
      const fence = context.fenceSync(context.SYNC_GPU_COMMANDS_COMPLETE, 0);
      if (!fence) return false;
      running = fence;
      context.flush();
      const poll = (): void => {
        const took_ms = performance.now() - started_ms;
        const done = context.getSyncParameter(fence, context.SYNC_STATUS) === context.SIGNALED;
        if (!done && took_ms < LONGEST_MS) {
          timer = window.setTimeout(poll, POLL_MS);
          return;
        }
        stop();
        finished(took_ms);
      };
      timer = window.setTimeout(poll, 0);
      return true;
    },
  };
}
