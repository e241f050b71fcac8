package main

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"setwright/internal/web"
	"setwright/internal/workshop"
)

// defaultAddress is where the pages are served: this machine only.
const defaultAddress = "127.0.0.1:4740"

// newServe builds "serve": the pages on loopback.
func newServe() *cobra.Command {
	var addr string
	cmd := &cobra.Command{
		Use: "serve", Short: "The pages, on this machine only", Args: cobra.NoArgs,
		Long: `Serves the pages of the book until Ctrl-C. They can be reached from this machine only;
there are no passwords. The book is made if there is none.`,
	}
	cmd.Flags().StringVar(&addr, "address", defaultAddress, "address on this machine; port 0 takes a free one")
	cmd.RunE = func(cmd *cobra.Command, _ []string) error {
		return withShop(cmd, true, func(shop *workshop.Shop) error {
			return servePages(cmd.Context(), shop, addr, cmd.OutOrStdout())
		})
	}
	return cmd
}

// servePages serves until the context ends. Where the usual address is taken,
// a free one is used and said.
func servePages(ctx context.Context, shop *workshop.Shop, addr string, w io.Writer) error {
	l, err := web.Listen(addr)
	if err != nil && addr == defaultAddress {
		l, err = web.Listen("127.0.0.1:0")
	}
	if err != nil {
		return err
	}
	server, err := web.New(shop, web.Options{})
	if err != nil {
		_ = l.Close()
		return err
	}
	defer server.Close()
	fmt.Fprintf(w, "The pages are at http://%s/  (Ctrl-C ends)\n", l.Addr())
	return server.ServeOn(ctx, l)
}
