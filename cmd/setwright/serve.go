package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"

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
		l, err := listen(addr)
		if err != nil {
			return err
		}
		defer l.Close()
		return withShop(cmd, true, func(shop *workshop.Shop) error {
			return servePages(cmd.Context(), shop, l, cmd.OutOrStdout())
		})
	}
	return cmd
}

// listen opens the address of the pages. Where the usual one is taken, a free
// one is used. It is opened before the book is, so that a wrong address makes
// none.
func listen(addr string) (net.Listener, error) {
	l, err := web.Listen(addr)
	if err != nil && addr == defaultAddress {
		l, err = web.Listen("127.0.0.1:0")
	}
	var system *net.OpError
	switch {
	case err == nil:
		return l, nil
	case errors.As(err, &system):
		return nil, fmt.Errorf("the pages cannot be served at %s (%w); choose another address with --address, 127.0.0.1:0 takes a free one", addr, system.Err)
	}
	return nil, usageError{err}
}

// servePages serves until the context ends.
func servePages(ctx context.Context, shop *workshop.Shop, l net.Listener, w io.Writer) error {
	server, err := web.New(shop, web.Options{})
	if err != nil {
		return err
	}
	defer server.Close()
	fmt.Fprintf(w, "The pages are at http://%s/  (Ctrl-C ends)\n", l.Addr())
	return server.ServeOn(ctx, l)
}
