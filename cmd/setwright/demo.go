package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"

	"github.com/spf13/cobra"

	"setwright/internal/demo"
	"setwright/internal/workshop"
)

// newDemo builds "demo": the invented scenario, start to finish, then the
// pages.
func newDemo() *cobra.Command {
	var noPages bool
	cmd := &cobra.Command{
		Use:   "demo",
		Short: "An invented museum's two sets, start to finish, then the pages",
		Long: `Makes a book of an invented scenario and tells its story with the verdicts as the
program gives them; then serves the pages until Ctrl-C. The book is thrown away
afterwards unless --book names a folder to keep it in.`,
		Args: cobra.NoArgs,
	}
	cmd.Flags().BoolVar(&noPages, "no-pages", false, "end after the story")
	cmd.RunE = func(cmd *cobra.Command, _ []string) error {
		keep, err := cmd.Flags().GetString("book")
		if err != nil {
			return err
		}
		if keep == "" {
			dir, err := os.MkdirTemp("", "setwright-demo-")
			if err != nil {
				return err
			}
			defer os.RemoveAll(dir)
			if err := cmd.Flags().Set("book", dir); err != nil {
				return err
			}
		}
		told, dir := false, bookDir(cmd)
		if fresh(dir) {
			defer func() {
				if !told {
					_ = os.RemoveAll(dir) // a story broken off is no book
				}
			}()
		}
		return withShop(cmd, true, func(shop *workshop.Shop) error {
			if err := checkEmpty(cmd, shop); err != nil {
				return err
			}
			if err := demo.Tell(cmd.Context(), shop, cmd.OutOrStdout()); err != nil {
				return err
			}
			told = true
			if keep != "" {
				fmt.Fprintf(cmd.OutOrStdout(), "\nThe book is in %s; look at it again with: setwright serve --book %s\n", keep, keep)
			}
			if noPages {
				return nil
			}
			fmt.Fprintln(cmd.OutOrStdout())
			l, err := listen(defaultAddress)
			if err != nil {
				return err
			}
			defer l.Close()
			return servePages(cmd.Context(), shop, l, cmd.OutOrStdout())
		})
	}
	return cmd
}

// fresh says that there is nothing in a folder yet.
func fresh(dir string) bool {
	entries, err := os.ReadDir(dir)
	return errors.Is(err, fs.ErrNotExist) || err == nil && len(entries) == 0
}

// checkEmpty refuses to mix the invented sets into somebody's book.
func checkEmpty(cmd *cobra.Command, shop *workshop.Shop) error {
	shelf, err := shop.Shelf(cmd.Context())
	if err == nil && len(shelf) > 0 {
		err = fmt.Errorf("the book in %s already holds sets; the demonstration wants a folder of its own, name an empty one", bookDir(cmd))
	}
	return err
}
