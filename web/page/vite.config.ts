import { svelte } from "@sveltejs/vite-plugin-svelte";
import { defineConfig } from "vite";

// File names carry no hash: the server answers with an ETag of the content, and the committed output changes only where the
// source does.
export default defineConfig({
  plugins: [svelte()],
  base: "./",
  build: {
    target: "es2022",
    modulePreload: { polyfill: false },
    assetsInlineLimit: 0,
    // One style sheet, linked by the page itself: a place whose script comes cannot stand there without its styles.
    cssCodeSplit: false,
    chunkSizeWarningLimit: 700,
    rolldownOptions: {
      output: {
        entryFileNames: "[name].js",
        chunkFileNames: "[name].js",
        assetFileNames: "[name][extname]",
      },
    },
  },
  server: {
    host: "127.0.0.1",
    port: 7434,
    strictPort: true,
    proxy: {
      // The server checks Host and Origin: in development both are its own.
      "/api": {
        target: "http://127.0.0.1:7433",
        changeOrigin: true,
        headers: { origin: "http://127.0.0.1:7433" },
      },
    },
  },
});
