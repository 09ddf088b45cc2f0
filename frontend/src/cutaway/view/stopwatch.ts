// Measures how long the graphics take to finish a picture, without waiting for them.

const POLL_MS = 4;
/** The longest time counted; with a lost context a picture never finishes. */
const LONGEST_MS = 2000;

export interface Stopwatch {
  /** Times the picture started then and just submitted; one at a time. */
  time: (started_ms: number) => void;
  stop: () => void;
}

export function makeStopwatch(context: WebGL2RenderingContext, finished: (took_ms: number) => void): Stopwatch {
  let timer = 0;
  const poll = (fence: WebGLSync, started_ms: number): void => {
    const took_ms = performance.now() - started_ms;
    const done = context.getSyncParameter(fence, context.SYNC_STATUS) === context.SIGNALED;
    if (!done && took_ms < LONGEST_MS) {
      timer = window.setTimeout(() => poll(fence, started_ms), POLL_MS);
      return;
    }
    timer = 0;
    context.deleteSync(fence);
    finished(took_ms);
  };
  return {
    time: (started_ms) => {
      if (timer) return;
      const fence = context.fenceSync(context.SYNC_GPU_COMMANDS_COMPLETE, 0);
      if (!fence) return;
      context.flush();
      timer = window.setTimeout(() => poll(fence, started_ms), 0);
    },
    stop: () => window.clearTimeout(timer),
  };
}
