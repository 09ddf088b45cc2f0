// Answers each body it is sent with the openness of its corners to the light.

import { type Body, opennessOf } from "./occlusion.ts";

onmessage = ({ data }: MessageEvent<Body>): void => postMessage(opennessOf(data));
