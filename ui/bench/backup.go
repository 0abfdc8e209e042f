package bench

// backUp asks where to a copy of the workbook is to go. The copy has the bench as it is seen,
// also where the workbook cannot take it.
func (m *Model) backUp() dialog {
	return newPrompt(m, prompt{
		title: "Back up the workbook to which new file? Enter alone puts the copy beside it, where restore finds it",
		accept: func(m *Model, typed string) (Request, error) {
			m.Say("Copying the workbook …")
			j := m.Job()
			return Ask{Do: func(s Shelf) func(m *Model) Request {
				full, err := s.Backup(typed, j)
				if err != nil {
					return failed("There is no backup", err)
				}
				return func(m *Model) Request {
					m.Say("The workbook is copied and checked: %s", full)
					return nil
				}
			}}, nil
		},
	})
}
