"""Every sentence the tool can say: functions from facts to words, nothing else."""
