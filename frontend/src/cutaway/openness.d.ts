/** What `bake/openness.ts` works out of the model while the pages are built. */
declare module "virtual:openness" {
  const baked: string;
  export default baked;
}
